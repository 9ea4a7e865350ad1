/* Sends what forms left waiting, in the order it was made, and says how the connection is. */

const PATIENCE = { words: 12000, photo: 60000 };

export const KIND = "form";

const tokenOf = (body) => JSON.parse(body.getAttribute("hx-headers") ?? "{}")["X-CSRFToken"] ?? "";

export class Sender {
  state = "well";
  sending = null;
  sent = []; // what went off while this page was open, and where it leads
  #token = tokenOf(document.body);

  constructor(outbox) {
    this.outbox = outbox;
  }

  /** What may go off: all of this person's that was not refused. */
  waiting() {
    return this.outbox.items(KIND).filter((item) => !item.state.answer);
  }

  /** Sends one after the other, until none is left or the line is not well. */
  flush() {
    this.sending ??= this.outbox.alone(KIND, () => this.#send()).finally(() => { this.sending = null; });
    return this.sending;
  }

  async #send() {
    this.state = "well";
    for (const item of this.waiting()) {
      if (!this.outbox.get(item.id)) continue; // let go meanwhile
      const answer = await this.#ask(item);
      if (answer.status === "saved") {
        this.sent.push({ ...item, next: answer.next });
        await this.outbox.drop(item.id);
      } else if (answer.status === "refused") {
        await this.outbox.change([item], { answer });
      } else {
        this.state = answer.status;
        await this.outbox.change(this.waiting().filter((each) => !each.state.waited), { waited: true });
        return;
      }
    }
  }

  /** How it ended: saved and where that leads, refused and why, or that it could not be asked now. */
  async #ask(item, again = false) {
    const form = new FormData();
    for (const [name, value] of item.body.fields) form.append(name, value);
    if (item.state.waited) form.append("device_at", new Date(item.at).toISOString());
    const photo = item.body.fields.some(([, value]) => value instanceof File && value.size);
    try {
      const response = await fetch(item.address, {
        method: "POST",
        body: form,
        credentials: "same-origin",
        cache: "no-store",
        headers: { Accept: "application/json", "Device-Sender": item.user, "X-CSRFToken": this.#token },
        signal: AbortSignal.timeout(photo ? PATIENCE.photo : PATIENCE.words),
      });
      if (response.status === 403 && !again && await this.#renewToken()) return await this.#ask(item, true);
      if (response.redirected || response.status === 403) return { status: "signed out" };
      if (response.status >= 500 || response.status === 429) return { status: "offline" };
      return await response.json();
    } catch (problem) {
      return { status: problem instanceof SyntaxError ? "signed out" : "offline" };
    }
  }

  /** Takes the token of this page as it is now: signing in again, in another tab say, changes it. */
  async #renewToken() {
    const response = await fetch(location.href, { credentials: "same-origin", cache: "no-store" });
    if (!response.ok || response.redirected) return false;
    const { body } = new DOMParser().parseFromString(await response.text(), "text/html");
    if (body.dataset.viewer !== this.outbox.user || tokenOf(body) === this.#token) return false;
    this.#token = tokenOf(body);
    return true;
  }
}
