/* What waits of one sheet at the bench: its readings in the outbox, and the text that is still being typed.
   They hold boxes and what was typed in them, and nothing else. */

import { Outbox } from "../../offline/outbox.js";
import { Drafts } from "./bench_drafts.js";

const KIND = "reading";

export class BenchOutbox {
  static async open(sheet, user) {
    return new BenchOutbox(sheet, await Outbox.open(user, { inMemory: true }));
  }

  constructor(sheet, outbox) {
    this.sheet = sheet;
    this.outbox = outbox;
    this.texts = new Drafts(outbox.user, sheet);
    for (const draft of this.texts.all()) {
      // Its reading was on its way into the outbox as the page was closed: it arrived, or is typed text again.
      if (!draft.goes) continue;
      if (outbox.get(draft.goes)) this.texts.drop(draft.box);
      else this.putDraft(draft);
    }
  }

  /** All that wait, in the order they were typed. */
  items() {
    return this.outbox.items(KIND, this.sheet);
  }

  /** What waits for one box. */
  of(box) {
    return this.items().filter((item) => item.body.box === box);
  }

  get(id) {
    return this.outbox.get(id);
  }

  /** A reading waits from now on, in place of others if they are named. Until the outbox has it on the
      disk its text stays a draft, so that a page that is closed in between loses nothing. */
  async add({ address, body, label }, instead = []) {
    const item = this.outbox.make({ kind: KIND, place: this.sheet, address, body, label });
    this.texts.put({ box: body.box, text: body.text, seen: body.seen, goes: item.id });
    try {
      await this.outbox.put(item, { instead });
    } catch {
      return; // no room on this device: it waits in the memory of this page, and its text stays a draft
    }
    if (this.texts.of(body.box)?.goes === item.id) this.texts.drop(body.box);
  }

  /** Runs `act` while no other page of this person sends of this sheet. */
  alone(act) {
    return this.outbox.alone(`${KIND}:${this.sheet}`, act);
  }

  /** Calls back when another page has changed what waits. */
  onChange(listener) {
    this.outbox.onChange(listener);
  }

  /** What goes off is known to have done so before it does: its answer may be lost. */
  change(items, state) {
    return this.outbox.change(items, state);
  }

  /** Another state, or another text known to stand there, of what waits. */
  async put(item) {
    await this.outbox.put(item).catch(() => {});
  }

  drop(...ids) {
    return this.outbox.drop(...ids);
  }

  /** Text that is still being typed. */
  drafts() {
    return this.texts.all().filter((draft) => !draft.goes);
  }

  draft(box) {
    return this.drafts().find((draft) => draft.box === box);
  }

  putDraft({ box, text, seen }) {
    this.texts.put({ box, text, seen });
  }

  dropDraft(box) {
    if (this.draft(box)) this.texts.drop(box);
  }

  /** Everything of this sheet and this person. */
  clear() {
    for (const { box } of this.texts.all()) this.texts.drop(box);
    return this.drop(...this.items().map((item) => item.id));
  }

  get isEmpty() {
    return !this.items().length && !this.drafts().length;
  }
}
