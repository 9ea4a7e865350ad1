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
  /** `acts` does what its buttons say: letGo(item), mend(item). */
  constructor(login, acts) {
    this.login = login;
    this.acts = acts;
    this.box = made("section", "", { id: "waiting", className: "waiting-bar", hidden: true, tabIndex: -1 });
    this.box.setAttribute("aria-labelledby", "waiting-h");
    // Empty at first and then filled, so that it is read out.
    this.head = made("h2", "", { id: "waiting-h" });
    this.message = made("p", "", { id: "waiting-message" });
    this.message.setAttribute("role", "status");
    this.list = made("ul", "", { className: "list" });
    this.others = made("p");
    this.sent = made("p");
    this.box.append(this.head, this.message, this.list, this.others, this.sent);
    document.getElementById("content").prepend(this.box);
  }

  /** Shows what waits of this person, that others' wait too, and what was sent meanwhile. */
  show({ mine, others, sent, state }) {
    this.box.hidden = !mine.length && !others && !sent.length;
    this.box.dataset.state = state;
    const all = mine.length + others;
    this.head.textContent = all ? `${count(all)} on this device` : "All records are sent";
    const message = mine.some((item) => !item.state.answer) ? WHY[state] : "";
    if (this.message.textContent !== message) this.message.textContent = message;
    if (state === "signed out" && mine.length) this.message.append(" ", this.#signIn());
    const key = JSON.stringify(mine.map((item) => [item.id, item.state.answer]));
    if (this.list.dataset.key !== key) this.list.replaceChildren(...mine.map((item) => this.#row(item)));
    this.list.dataset.key = key;
    this.list.hidden = !mine.length;
    // Never what they are, nor whose: this device has passed to somebody else.
    this.others.textContent = others ? `${count(others)} for the one who made them to sign in: nobody else sees or sends them.` : "";
    this.#showSent(sent);
  }

  #signIn() {
    const next = encodeURIComponent(location.pathname + location.search);
    return made("a", "Sign in again", { href: `${this.login}?next=${next}` });
  }

  #showSent(sent) {
    this.sent.replaceChildren();
    for (const { label, next } of sent) this.sent.append("Sent: ", made("a", label.title, { href: next }), ". ");
  }

  #row(item) {
    const { title, words } = item.label;
    const line = made("li");
    const what = made("span");
    what.append(made("b", title), words ? `: ${words}` : "", made("br"));
    what.append(made("span", `made at ${timeOf(item.at)}`, { className: "small muted" }));
    line.append(what);
    if (!item.state.answer) return line;
    what.append(made("p", `Refused: ${item.state.answer.says}`, { className: "error" }));
    const row = made("span", "", { className: "row" });
    if (words) row.append(this.#button("Mend it", item, () => this.acts.mend(item)));
    row.append(this.#letGo(item));
    line.append(row);
    return line;
  }

  #button(text, item, act) {
    const button = made("button", text, { type: "button" });
    button.setAttribute("aria-label", `${text}: ${item.label.title}`);
    button.addEventListener("click", act);
    return button;
  }

  /** Asks once: what is let go is gone. */
  #letGo(item) {
    const button = this.#button("Let it go", item, () => {
      if (button.dataset.asked) {
        this.acts.letGo(item);
        return;
      }
      button.dataset.asked = "yes";
      button.textContent = "Really let it go?";
      button.setAttribute("aria-label", `Really let it go? ${item.label.title}`);
    });
    button.className = "danger";
    return button;
  }
}

function timeOf(at) {
  return new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
}
