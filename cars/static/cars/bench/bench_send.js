/* Sends what waits in the outbox, asks what others wrote, and says how the connection is. */

const POLL = 2000;
const SLOWEST = 15000;
const PATIENCE = 12000;

/** How a request ended: what came back, or why nothing did. */
async function ask(url, options) {
  let response;
  try {
    response = await fetch(url, { credentials: "same-origin", cache: "no-store", signal: AbortSignal.timeout(PATIENCE), ...options });
  } catch {
    return { failed: "offline" };
  }
  if (response.redirected) return { failed: "signed out" };
  if (response.status === 204) return { same: true };
  if (response.status === 403) return { failed: "refused" };
  if (response.status >= 500) return { failed: "offline" };
  if (!response.ok) return { failed: "wrong" };
  try {
    return { json: await response.json() };
  } catch {
    return { failed: "signed out" };
  }
}

export class Line {
  /** `page` shows what came: apply(answer), came(item, result), net(state). */
  constructor(outbox, page) {
    this.outbox = outbox;
    this.page = page;
    this.state = "well";
    this.wait = POLL;
    this.sending = null;
    this.timer = 0;
    addEventListener("online", () => this.soon());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.soon(); });
  }

  start() {
    this.flush();
    this.#later();
  }

  soon() {
    this.wait = POLL;
    clearTimeout(this.timer);
    this.#turn();
  }

  #later() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#turn(), this.wait);
  }

  async #turn() {
    if (!document.hidden) {
      await this.look();
      if (this.state === "well") await this.flush();
    }
    this.#later();
  }

  #is(state) {
    this.wait = state === "well" ? POLL : Math.min(this.wait * 1.5, SLOWEST);
    if (state !== this.state) {
      this.state = state;
      this.page.net(state);
    }
  }

  /** What others wrote since; `anew` asks for everything. */
  async look(anew = false) {
    if (this.sending) return;
    const at = this.page.step;
    const answer = await ask(`${this.page.url}now?version=${anew ? "" : encodeURIComponent(this.page.version)}`);
    if (answer.failed) this.#is(answer.failed === "refused" || answer.failed === "wrong" ? "signed out" : answer.failed);
    else {
      this.#is("well");
      if (answer.json && at === this.page.step && !this.sending) this.page.apply(answer.json);
    }
  }

  /** Sends all that waits, one reading of a box at a time, until nothing does or it cannot. */
  flush() {
    this.sending ??= this.outbox.alone(() => this.#send()).finally(() => { this.sending = null; });
    return this.sending;
  }

  async #send() {
    let again = true;
    while (true) {
      const first = new Map();
      for (const item of this.outbox.items()) if (!first.has(item.body.box)) first.set(item.body.box, item);
      const ready = [...first.values()].filter((item) => !item.state.answer);
      if (!ready.length) return;
      await this.outbox.change(ready, { tried: true });
      const answer = await this.#post("save", { readings: ready.map(asSent) });
      if (answer.failed === "refused" && again && (await this.#newToken())) {
        again = false;
        continue;
      }
      if (answer.failed) {
        this.#is(answer.failed === "refused" ? "signed out" : answer.failed === "wrong" ? "offline" : answer.failed);
        this.page.show();
        return;
      }
      this.#is("well");
      const written = answer.json.results.map((result) => this.#came(result));
      if (answer.json.step === this.page.step) this.page.apply(answer.json);
      this.page.show();
      await Promise.all(written);
    }
  }

  async #came(result) {
    const item = this.outbox.get(result.id);
    if (!item) return;
    const { box, seen } = item.body;
    const later = this.outbox.of(box).filter((each) => each.id !== item.id);
    const stands = result.status === "saved" ? result.seen : seen;
    const written = later.filter((each) => each.body.seen === item.id)
      .map((each) => this.outbox.put({ ...each, body: { ...each.body, seen: stands } }));
    // Not taken, and the person has typed something else since: nothing is left to decide.
    if (result.status === "saved" || later.length) written.push(this.outbox.drop(item.id));
    else written.push(this.outbox.change([item], { answer: result }));
    this.page.came(item, result);
    await Promise.all(written);
  }

  /** Puts back what stood in a box before; null where that cannot be asked now. */
  async undo(box, seen) {
    const answer = await this.#post("undo", { box, seen });
    if (!answer.json) {
      this.#is(answer.failed === "offline" ? "offline" : "signed out");
      return null;
    }
    this.page.apply(answer.json, true);
    return answer.json.results[0];
  }

  #post(what, body) {
    return ask(this.page.url + what, {
      method: "POST",
      keepalive: true, // a phone that is locked as the field is left
      headers: { "Content-Type": "application/json", "X-CSRFToken": this.page.token },
      body: JSON.stringify(body),
    });
  }

  async #newToken() {
    const answer = await ask(`${this.page.url}now?version=`);
    if (!answer.json || answer.json.user !== this.page.user) return false;
    this.page.token = answer.json.token;
    return true;
  }
}

function asSent(item) {
  const age = Math.max(0, (Date.now() - item.at) / 1000);
  return { id: item.id, ...item.body, age };
}
