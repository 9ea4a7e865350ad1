/* What the page says: how each box stands, what others wrote, and how the connection is. */

const WAITS = "kept on this phone, not sent yet";

export class StatusView {
  /** `boxes` is the module of that name; `page` has `line`, `url`, `user` and `token`. */
  constructor(boxes, outbox, page) {
    this.boxes = boxes;
    this.outbox = outbox;
    this.page = page;
    this.parts = new Map(); // what the server last said of each part
    this.closed = false;
    addEventListener("pageshow", () => { this.closed = false; });
  }

  /** The state of every field, from what waits in the outbox. */
  show() {
    const { fields, write, mark, clearMark, showConflict, say } = this.boxes;
    const { line } = this.page;
    const waiting = new Map(this.outbox.items().map((item) => [item.body.box, item]));
    const drafts = new Map(this.outbox.drafts().map((draft) => [draft.box, draft]));
    for (const field of fields()) {
      const item = waiting.get(field.name);
      const active = field === document.activeElement;
      if (item && !drafts.has(field.name) && !active) write(field, item.body.text);
      const answer = item?.state.answer;
      if (answer && answer.status !== "conflict") field.setAttribute("aria-invalid", "true");
      else field.removeAttribute("aria-invalid");
      if (answer?.status === "conflict") showConflict(field, item);
      else if (answer) mark(field, "wrong", answer.says);
      else if (item && line.state === "well") mark(field, "sending");
      else if (item) mark(field, "waiting", WAITS);
      else if (drafts.has(field.name) && !active) mark(field, "waiting", WAITS);
      else clearMark(field);
    }
    this.#behind();
    const message = document.getElementById("bench-message");
    const item = waiting.get(message.dataset.wrongBox);
    if (message.dataset.wrongBox && !item?.state.answer) say("");
    this.net(line.state);
  }

  /** What the server says stands now. */
  apply(answer, force = false) {
    const { root, fieldOf } = this.boxes;
    if (this.closed) return; // on the way to the end already: a second departure would break the first off
    // Of other steps a save says nothing: what changed there meanwhile comes with the next look.
    if (!answer.before || answer.before === root().dataset.version) root().dataset.version = answer.version;
    if (answer.user === this.page.user) this.page.token = answer.token;
    if (answer.state !== root().dataset.state) {
      this.closed = true;
      location.assign(this.page.url.replace(/[^/]+\/$/, "done")); // closed, by somebody: what waits is told there
      return;
    }
    for (const box of answer.boxes) {
      const field = fieldOf(box.name);
      if (field) this.#follow(field, box, force);
    }
    for (const [id, html] of Object.entries(answer.parts)) this.#putPart(id, html);
    this.#behind();
  }

  /** A verdict beside something unsaved is of what stands on the sheet, and its step says so. */
  #behind() {
    const { fields, clearBehind, tellBehind, markStep } = this.boxes;
    const last = new Map(this.outbox.items().map((item) => [item.body.box, item]));
    const refused = (item) => Boolean(item?.state.answer);
    clearBehind();
    for (const field of fields()) {
      const item = last.get(field.name);
      const typed = this.outbox.draft(field.name) && field !== document.activeElement;
      if (item || typed) tellBehind(field, refused(item) ? "refused" : "waiting");
    }
    const counts = new Map();
    for (const item of last.values()) {
      const { slug } = item.label.step;
      const of = counts.get(slug) ?? [0, 0];
      of[refused(item) ? 0 : 1] += 1;
      counts.set(slug, of);
    }
    for (const [slug, [wrong, waiting]] of counts) markStep(slug, wrong, waiting);
  }

  #follow(field, box, force) {
    const { write, mark, say, nameOf, textOf } = this.boxes;
    if (box.seen === field.dataset.seen && box.text === field.dataset.stood) return;
    if (this.outbox.of(field.name).length || (!force && this.outbox.draft(field.name))) {
      if (box.by) say(`${box.by}: ${nameOf(field)} ${box.text}`);
      return; // what the person saw stays what they saw: the save will ask them
    }
    const other = box.seen !== field.dataset.seen;
    field.dataset.seen = box.seen;
    field.dataset.stood = box.text;
    this.outbox.dropDraft(field.name);
    if (textOf(field) !== box.text) {
      write(field, box.text);
      if (other && box.by) {
        field.classList.add("came");
        setTimeout(() => field.classList.remove("came"), 4000);
        say(`${box.by}: ${nameOf(field)} ${box.text}`);
      }
    }
    if (other && box.by) mark(field, "theirs", box.text ? `${box.by} wrote this` : `${box.by} emptied it`);
  }

  #putPart(id, html) {
    const part = document.getElementById(id);
    if (!part || this.parts.get(id) === html) return;
    const within = part.contains(document.activeElement);
    const value = document.activeElement?.value;
    const next = this.boxes.replacePart(part, html);
    this.parts.set(id, html);
    if (within) [...next.querySelectorAll("button")].find((b) => b.value === value)?.focus();
  }

  /** How the connection is, and what waits for another step. */
  net(state) {
    const { root, fieldOf, note } = this.boxes;
    const box = document.getElementById("bench-net");
    const items = this.outbox.items();
    const stuck = items.filter((item) => item.state.answer && !fieldOf(item.body.box));
    const notes = [];
    if (state === "offline") notes.push(["offline", `No connection. Go on: ${items.length ? `${items.length} ${items.length === 1 ? "reading is" : "readings are"} ` : "what you type is "}kept on this phone and sent when it is back.`]);
    if (state === "signed out") notes.push(["signed-out", "You are signed out. What you typed is kept on this phone and sent when you have signed in."]);
    const key = JSON.stringify([notes, stuck]);
    if (box.dataset.key === key) return;
    box.dataset.key = key;
    box.replaceChildren(...notes.map(([kind, text]) => note(kind, text)));
    if (state === "signed out") {
      const link = document.createElement("a");
      link.className = "button primary";
      link.href = `${root().dataset.login}?next=${encodeURIComponent(location.pathname)}`;
      link.textContent = "Sign in again";
      box.lastElementChild.append(link);
    }
    for (const item of stuck) {
      const line = note("stuck", `${item.label.step.name}, ${item.label.name}: ${item.state.answer.says} `);
      const link = document.createElement("a");
      link.href = this.page.url.replace(/[^/]+\/$/, `${item.label.step.slug}/`);
      link.textContent = "Show the box";
      link.dataset.go = "";
      line.append(link);
      box.append(line);
    }
  }
}
