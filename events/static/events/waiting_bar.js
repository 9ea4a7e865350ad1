/* The bar that says what waits on this device, and what became of it. */

function made(tag, text = "", set = {}) {
  const element = Object.assign(document.createElement(tag), set);
  element.textContent = text;
  return element;
}

function count(number) {
  return number === 1 ? "1 record waits" : `${number} records wait`;
}

const WHY = {
  offline: "No connection: they are sent when it is back, in this order. Go on working.",
  "signed out": "You are signed out: they are sent when you have signed in again.",
  other: "Somebody else is signed in by now: they are sent when you are.",
  well: "",
};

export class Bar {
  /** `acts` does what its buttons say: letGo(record), mend(record). */
  constructor(here, acts) {
    this.here = here;
    this.acts = acts;
    this.box = made("section", "", { id: "desk-kept", className: "kept", hidden: true, tabIndex: -1 });
    this.box.setAttribute("aria-labelledby", "desk-kept-h");
    // Empty at first and then filled, so that it is read out.
    this.head = made("h2", "", { id: "desk-kept-h" });
    this.said = made("p", "", { id: "desk-kept-said" });
    this.said.setAttribute("role", "status");
    this.list = made("ul", "", { className: "list" });
    this.others = made("p");
    this.sent = made("p");
    this.box.append(this.head, this.said, this.list, this.others, this.sent);
    document.getElementById("content").prepend(this.box);
  }

  /** Shows what waits of this person, that others' wait too, and what was sent meanwhile. */
  show({ mine, others, sent, state }) {
    this.box.hidden = !mine.length && !others.length && !sent.length;
    this.box.dataset.state = state;
    const all = [...mine, ...others];
    this.head.textContent = all.length ? `${count(all.length)} on this device` : "All records are sent";
    const said = mine.some((record) => !record.refused) ? WHY[state] : "";
    if (this.said.textContent !== said) this.said.textContent = said;
    if (state === "signed out" && mine.length) this.said.append(" ", this.#signIn());
    const key = JSON.stringify(mine.map(({ id, refused }) => [id, refused]));
    if (this.list.dataset.key !== key) this.list.replaceChildren(...mine.map((record) => this.#row(record)));
    this.list.dataset.key = key;
    this.list.hidden = !mine.length;
    // Never what they are, nor whose: this device has passed to somebody else.
    this.others.textContent = others.length ? `${count(others.length)} for the one who made them to sign in: nobody else sees or sends them.` : "";
    this.#showSent(sent);
  }

  #signIn() {
    const next = encodeURIComponent(location.pathname + location.search);
    return made("a", "Sign in again", { href: `${this.here.dataset.login}?next=${next}` });
  }

  #showSent(sent) {
    this.sent.replaceChildren();
    for (const { title, next } of sent) this.sent.append("Sent: ", made("a", title, { href: next }), ". ");
  }

  #row(record) {
    const line = made("li");
    const what = made("span");
    what.append(made("b", record.title), record.words ? `: ${record.words}` : "", made("br"));
    what.append(made("span", `made at ${timeOf(record.at)}`, { className: "small muted" }));
    line.append(what);
    if (!record.refused) return line;
    what.append(made("p", `Refused: ${record.refused}`, { className: "error" }));
    const row = made("span", "", { className: "row" });
    if (record.words) row.append(this.#button("Mend it", record, () => this.acts.mend(record)));
    row.append(this.#letGo(record));
    line.append(row);
    return line;
  }

  #button(text, record, act) {
    const button = made("button", text, { type: "button" });
    button.setAttribute("aria-label", `${text}: ${record.title}`);
    button.addEventListener("click", act);
    return button;
  }

  /** Asks once: what is let go is gone. */
  #letGo(record) {
    const button = this.#button("Let it go", record, () => {
      if (button.dataset.asked) {
        this.acts.letGo(record);
        return;
      }
      button.dataset.asked = "yes";
      button.textContent = "Really let it go?";
      button.setAttribute("aria-label", `Really let it go? ${record.title}`);
    });
    button.className = "danger";
    return button;
  }
}

function timeOf(at) {
  return new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
}
