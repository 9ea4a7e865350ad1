/* The fraction pad: whole inches and sixteenths under a thumb, instead of the phone's keyboard. */

const SIXTEENTHS = 16;
const INCHES = /^\s*(-)?\s*(\d*)(?:[\s-]*(\d+)\/(\d+))?\s*(?:"|″|in)?$/;
const PART = /[\s-]*\d+\/\d+$/;
const UNIT = /\s*[^\d\s.,/-]+$/;

function lowest(top) {
  let bottom = SIXTEENTHS;
  while (top && top % 2 === 0 && bottom > 1) { top /= 2; bottom /= 2; }
  return `${top}/${bottom}`;
}

/** Sixteenths of what is written, or null where it is no such fraction. */
export function sixteenths(text) {
  const found = INCHES.exec(text);
  if (!found || (!found[2] && !found[3])) return null;
  const part = found[3] ? (Number(found[3]) / Number(found[4])) * SIXTEENTHS : 0;
  if (!Number.isInteger(part)) return null;
  return (found[1] ? -1 : 1) * (Number(found[2] || 0) * SIXTEENTHS + part);
}

/** 37 -> "2 5/16". */
export function written(count) {
  const whole = Math.floor(Math.abs(count) / SIXTEENTHS);
  const rest = Math.abs(count) % SIXTEENTHS;
  const minus = count < 0 ? "-" : "";
  if (!rest) return `${minus}${whole}`;
  return minus + (whole ? `${whole} ${lowest(rest)}` : lowest(rest));
}

/** Without its last key: a unit and a fraction go whole, as they came. */
function shorter(text) {
  for (const end of [UNIT, PART]) if (end.test(text)) return text.replace(end, "");
  return text.slice(0, -1).trimEnd();
}

function key(label, act, spoken, kind = "") {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = label;
  button.dataset.act = act;
  if (spoken) button.setAttribute("aria-label", spoken);
  if (kind) button.className = kind;
  return button;
}

function rows(...all) {
  return all.map(([kind, ...keys]) => {
    const row = document.createElement("div");
    row.className = `pad-row ${kind}`;
    row.append(...keys);
    return row;
  });
}

export class Pad {
  /** `next(field)` leaves the field for the next one; `typed(field)` keeps what it holds;
      `close()` puts the pad away. */
  constructor({ next, typed, close }) {
    this.next = next;
    this.close = close;
    this.typed = typed;
    this.field = null;
    this.fresh = true;
    this.element = document.createElement("div");
    this.element.className = "bench-pad";
    this.element.id = "bench-pad";
    this.element.hidden = true;
    this.element.setAttribute("role", "group");
    this.element.setAttribute("aria-label", "Fraction pad");
    this.#keys();
    document.body.append(this.element);
    // The bar with the next step stands on the pad, however many rows the pad has.
    new ResizeObserver(() => {
      document.documentElement.style.setProperty("--pad-height", `${this.element.offsetHeight}px`);
      if (this.isOn) this.field?.scrollIntoView({ block: "nearest" });
    }).observe(this.element, { box: "border-box" });
    // The field keeps the focus while the pad is pressed.
    this.element.addEventListener("pointerdown", (event) => event.preventDefault());
    this.element.addEventListener("click", (event) => {
      const act = event.target.closest("[data-act]")?.dataset.act;
      if (act === "close") this.close();
      else if (act && this.field?.isConnected) this.#press(act);
    });
  }

  #keys() {
    const digit = (n) => key(String(n), `digit ${n}`);
    const part = (n) => key(n ? lowest(n) : "none", `part ${n}`, n ? `${n} sixteenths` : "none, no fraction", "part");
    const parts = [...Array(SIXTEENTHS).keys()];
    this.now = document.createElement("output");
    this.now.className = "pad-now";
    const top = document.createElement("div");
    top.className = "pad-row pad-top";
    top.append(key("✕", "close", "Close the pad"), this.now, key("Next ›", "next", "Next field", "primary"));
    this.element.append(top, ...rows(
      ["fives", ...[1, 2, 3, 4, 5].map(digit)],
      ["fives", ...[6, 7, 8, 9, 0].map(digit)],
      ["eights fractions", ...parts.slice(0, 8).map(part)],
      ["eights fractions", ...parts.slice(8).map(part)],
      ["fives", key("−1/16", "less", "−1/16, one sixteenth less", "part"),
        key("+1/16", "more", "+1/16, one sixteenth more", "part"), key("+/−", "sign", "+/−, change the sign"),
        key(".", "point", "Decimal point"), key("⌫", "back", "Backspace"), key("Clear", "clear", "", "part")],
    ));
  }

  get isOn() {
    return !this.element.hidden;
  }

  /** Shows or hides the pad; the phone's own keyboard stays away only while it is shown. */
  turn(on) {
    this.element.hidden = !on;
    document.body.classList.toggle("with-pad", on);
    for (const field of document.querySelectorAll("input[data-bench].number")) {
      if (on) field.setAttribute("inputmode", "none");
      else field.removeAttribute("inputmode");
    }
    if (!this.field?.isConnected) this.field = null;
    this.#lay();
    if (on) this.at(document.activeElement);
  }

  /** The pad writes in this field from now on. */
  at(field) {
    if (!(field instanceof HTMLInputElement) || !field.matches("[data-bench]")) return;
    this.field = field.matches(".number") ? field : null;
    this.fresh = true;
    this.#lay();
  }

  /** Only the keys that the chosen box takes; before one is chosen, only the way out. */
  #lay() {
    const field = this.field;
    for (const row of this.element.querySelectorAll(".pad-row:not(.pad-top)")) row.hidden = !field;
    this.element.querySelector("[data-act=next]").hidden = !field;
    this.#show();
    if (!field) return;
    const inches = field.dataset.kind === "length" && field.dataset.unit.trim() === "in";
    for (const row of this.element.querySelectorAll(".fractions")) row.hidden = !inches;
    for (const act of ["less", "more"]) this.element.querySelector(`[data-act=${act}]`).hidden = !inches;
    this.element.querySelector("[data-act=sign]").hidden = field.dataset.signed === undefined;
  }

  /** Something was typed in a field, with the pad or without. */
  follow(field) {
    if (field === this.field) this.#show();
  }

  #show() {
    const text = this.field?.value.trim();
    if (!this.field) this.now.textContent = "Tap a box";
    else if (UNIT.test(text)) this.now.textContent = text; // its unit was typed with it
    else this.now.textContent = `${text || "–"} ${this.field.dataset.unit ?? ""}`.trim();
  }

  #press(act) {
    const [what, n] = act.split(" ");
    if (what === "next") {
      this.next(this.field);
      return;
    }
    this.field.value = this.#written(what, n, this.field.value.trim());
    this.fresh = false;
    this.#show();
    this.field.dispatchEvent(new Event("input", { bubbles: true }));
    this.typed(this.field);
  }

  #written(what, n, text) {
    const count = sixteenths(text);
    if (what === "clear") return "";
    if (what === "back") return shorter(text);
    if (what === "sign") return text.startsWith("-") ? text.slice(1) : `-${text}`;
    if (what === "less" || what === "more") return count === null ? text : written(count + (what === "more" ? 1 : -1));
    if (what === "part") {
      const whole = count === null ? 0 : Math.trunc(count / SIXTEENTHS) * SIXTEENTHS;
      const minus = text.startsWith("-") ? -1 : 1;
      return written(minus * (Math.abs(whole) + Number(n)));
    }
    if (this.fresh) return what === "point" ? "0." : n;
    if (what === "point") return text.includes(".") || text.includes("/") ? text : `${text || "0"}.`;
    if (!text.includes("/")) return text + n;
    // A digit after the fraction belongs to the whole inches: 2 3/8 and then 4 is 24 3/8.
    const [whole, part] = text.includes(" ") ? text.split(" ") : ["", text];
    return `${whole}${n} ${part}`;
  }
}
