/* What a field of the bench holds becomes a reading that waits; what the server said of it is settled here. */

/** Why it was not taken, if it was not: nothing of it goes off before the person has decided. */
const answerOf = (item) => item.state.answer;

export class Saver {
  /** `comeBack(field)` leads the person back to a field whose reading was not taken. */
  constructor({ boxes, outbox, line, page, status, steps, comeBack }) {
    Object.assign(this, { boxes, outbox, line, page, status, steps, comeBack });
  }

  /** What the person saw in a box: what they last typed there themselves, or what the page shows. */
  #seenIn(field) {
    return this.outbox.of(field.name).at(-1)?.id ?? field.dataset.seen;
  }

  /** What the field would hold if nothing had been typed since. */
  standsIn(field) {
    return this.outbox.of(field.name).at(-1)?.body.text ?? field.dataset.stood;
  }

  saveDraft(field) {
    const draft = this.outbox.draft(field.name);
    const text = this.boxes.textOf(field);
    if (text === this.standsIn(field)) this.outbox.dropDraft(field.name);
    else this.outbox.putDraft({ box: field.name, text, seen: draft?.seen ?? this.#seenIn(field) });
  }

  /** The field is left: what it holds is a reading, and goes off. */
  save(field, again = false) {
    const { outbox, status } = this;
    const box = field.name;
    const text = this.boxes.textOf(field);
    const draft = outbox.draft(box);
    const waiting = outbox.of(box);
    if (!again && text === this.standsIn(field)) {
      outbox.dropDraft(box);
      return;
    }
    const instead = waiting.filter((item) => answerOf(item) || !item.state.tried).map((item) => item.id);
    let seen = draft?.seen ?? this.#seenIn(field);
    for (const item of [...waiting].reverse()) if (instead.includes(item.id) && seen === item.id) seen = item.body.seen;
    const takenBack = text === field.dataset.stood && seen === field.dataset.seen;
    if (!again && instead.length === waiting.length && takenBack) {
      outbox.drop(...instead);
      outbox.dropDraft(box);
      status.show();
      return; // taken back before it was ever sent
    }
    this.#add(field, { text, seen, again }, instead);
  }

  #add(field, { text, seen, again }, instead) {
    this.outbox.add({
      address: `${this.page.url}save`,
      body: { box: field.name, text, seen, again },
      label: { name: this.boxes.nameOf(field), step: { slug: this.page.step, name: this.page.stepName } },
    }, instead);
    this.status.show();
    this.line.flush();
  }

  /** A box that was sent has been answered. */
  came(item, result) {
    const { box, text } = item.body;
    if (result.status === "saved") this.steps.stands(item.label.step.slug, [{ name: box, seen: result.seen, text }]);
    const field = this.boxes.fieldOf(box);
    if (!field) return;
    if (result.status === "saved") {
      field.dataset.seen = result.seen;
      field.dataset.stood = text;
      if (!this.outbox.of(box).length) this.boxes.mark(field, "saved");
    } else {
      this.boxes.say(`${this.boxes.nameOf(field)}: ${result.says}`, box);
      this.comeBack(field);
    }
  }

  /** Keep theirs: mine goes. Use mine: it is sent again, now knowing theirs. */
  settle(box, choice) {
    const field = this.boxes.fieldOf(box);
    const items = this.outbox.of(box);
    const conflict = items.map(answerOf).findLast((answer) => answer?.status === "conflict");
    if (!conflict) return;
    const ids = items.map((item) => item.id);
    this.outbox.dropDraft(box);
    if (choice === "theirs") {
      this.outbox.drop(...ids);
      field.dataset.seen = conflict.seen;
      field.dataset.stood = conflict.theirs;
      this.boxes.write(field, conflict.theirs);
      this.boxes.clearMark(field);
      this.status.show();
      this.line.look(true);
    } else {
      const mine = items.at(-1).body;
      const text = this.boxes.textOf(field) || mine.text;
      this.#add(field, { text, seen: conflict.seen, again: mine.again }, ids);
    }
    field.focus();
  }

  /** What was refused is let go, and the field says again what stands on the sheet. */
  letGo(field) {
    this.outbox.drop(...this.outbox.of(field.name).map((item) => item.id));
    this.outbox.dropDraft(field.name);
    this.boxes.write(field, field.dataset.stood);
    this.boxes.clearMark(field);
    this.status.show();
    field.focus();
  }

  async undo(field) {
    await this.line.flush();
    const result = await this.line.undo(field.name, field.dataset.seen);
    if (!result) this.boxes.say("No connection: it can be put back when the connection is.");
    else if (result.status === "saved") this.boxes.mark(field, "saved", "put back");
    else this.boxes.mark(field, "wrong", result.says);
  }
}
