/* The boxes of a step as the page has them: what they hold, and what stands under them. */

export const root = () => document.getElementById("bench");

export function fields() {
  return [...root().querySelectorAll("[data-bench]")];
}

export function fieldOf(box) {
  return fields().find((field) => field.name === box);
}

export function textOf(field) {
  return field.type === "checkbox" ? (field.checked ? field.value : "") : field.value.trim();
}

export function write(field, text) {
  if (field.type === "checkbox") field.checked = Boolean(text);
  else field.value = text;
}

/** Said aloud; what is wrong with a box is said until that is mended. */
export function say(text, box = "") {
  const message = document.getElementById("bench-message");
  message.textContent = text;
  message.dataset.wrongBox = box;
}

export function nameOf(field) {
  return (field.labels?.[0]?.textContent ?? field.name).replace(/\s+/g, " ").trim();
}

export function place(field) {
  return document.getElementById(field.getAttribute("aria-describedby").split(" ")[0]);
}

export function mark(field, kind, text = kind) {
  const at = place(field);
  at.dataset.kind = kind;
  const note = document.createElement("p");
  note.className = kind === "wrong" ? "error" : `box-note ${kind}`;
  if (kind === "wrong") note.setAttribute("role", "alert");
  note.textContent = text;
  at.replaceChildren(note);
  if (kind === "wrong") at.append(backButton(field));
}

/** What stands on the sheet comes back into the field, and what was refused is let go. */
function backButton(field) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "small-button";
  button.dataset.back = field.name;
  button.textContent = stoodIn(field) ? `Put back ${stoodIn(field)}` : "Empty it";
  return button;
}

/** What the sheet has in the field's box, as people read it. */
export function stoodIn(field) {
  return field.type === "checkbox" && field.dataset.stood ? "checked" : field.dataset.stood;
}

export function clearMark(field) {
  const at = place(field);
  if (at.dataset.kind && at.dataset.kind !== "saved") {
    delete at.dataset.kind;
    at.replaceChildren();
  }
}

export function showConflict(field, item) {
  const at = place(field);
  if (at.dataset.kind === "conflict" && at.dataset.id === item.id + item.state.answer.seen) return;
  at.dataset.kind = "conflict";
  at.dataset.id = item.id + item.state.answer.seen;
  const panel = document.createElement("div");
  panel.className = "conflict";
  panel.setAttribute("role", "alert");
  const text = document.createElement("p");
  text.textContent = item.state.answer.says;
  const row = document.createElement("div");
  row.className = "row";
  for (const [label, act] of [["Keep theirs", "theirs"], ["Use mine", "mine"]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = label;
    button.dataset.settle = act;
    button.dataset.box = item.body.box;
    if (act === "mine") button.className = "primary";
    row.append(button);
  }
  panel.append(text, row);
  at.replaceChildren(panel);
}

/** A part of the page as the server last wrote it, in the place of the one before. What a page alone says of a
    box (what was set last time, the team's own target) does not change while one measures, and no answer has it. */
export function replacePart(part, html) {
  const made = document.createElement("template");
  made.innerHTML = html;
  const next = made.content.firstElementChild;
  const mark = part.querySelector(".gauge .before");
  if (mark && !next.querySelector(".before")) next.querySelector(".gauge")?.append(document.importNode(mark, true));
  if (!next.querySelector(".of-page")) {
    for (const each of part.querySelectorAll(".of-page")) next.append(document.importNode(each, true));
  }
  part.replaceWith(next);
  return next;
}

/** What can be done with the box that somebody is at stands under the boxes of its measure. */
export function showMore(field) {
  const box = field.name.split(".").slice(0, 2).join(".");
  const panels = [...root().querySelectorAll(".box-more")];
  const here = panels.find((each) => each.dataset.of === box);
  for (const each of panels) each.classList.toggle("here", each === here);
  return here;
}

export function note(kind, text) {
  const line = document.createElement("p");
  line.className = `notice ${kind}`;
  line.textContent = text;
  return line;
}

const BEHIND = { refused: "Not saved.", waiting: "Not saved yet." };

/** Says under a box that its verdict is of what stands on the sheet, not of what is in the field. */
export function tellBehind(field, kind) {
  const [measure, spot] = field.name.split(".");
  const verdict = document.getElementById(`v-${measure}--${spot}`);
  if (!verdict) return;
  const text = `${BEHIND[kind]} On the sheet: ${stoodIn(field) || "nothing yet"}`;
  verdict.querySelector(":scope > .stands")?.remove();
  verdict.dataset.behind = kind;
  const line = document.createElement("p");
  line.className = "small stands";
  line.textContent = text;
  verdict.prepend(line);
}

/** Verdicts and step marks without what was said of anything unsaved. */
export function clearBehind() {
  for (const each of root().querySelectorAll("[data-behind]")) {
    delete each.dataset.behind;
    each.querySelectorAll(":scope > .stands, :scope > .mark.unsaved").forEach((line) => line.remove());
  }
}

/** Marks a step of the strip: so many boxes of it hold what is not on the sheet. */
export function markStep(slug, refused, waiting) {
  const tally = document.getElementById(`s-${slug}`);
  if (!tally || !(refused || waiting)) return;
  tally.dataset.behind = refused ? "refused" : "waiting";
  const mark = document.createElement("span");
  mark.className = `mark unsaved state ${refused ? "bad" : "close"}`;
  mark.textContent = refused ? ` ${refused} not saved` : ` ${waiting} not saved yet`;
  tally.append(mark);
}
