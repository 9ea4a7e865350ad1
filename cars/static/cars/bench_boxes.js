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
  const said = document.getElementById("bench-said");
  said.textContent = text;
  said.dataset.wrongBox = box;
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
  note.className = kind === "wrong" ? "error" : `kept-note ${kind.replace(" ", "-")}`;
  if (kind === "wrong") note.setAttribute("role", "alert");
  note.textContent = text;
  at.replaceChildren(note);
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
  if (at.dataset.kind === "conflict" && at.dataset.id === item.id + item.conflict.seen) return;
  at.dataset.kind = "conflict";
  at.dataset.id = item.id + item.conflict.seen;
  const panel = document.createElement("div");
  panel.className = "conflict";
  panel.setAttribute("role", "alert");
  const text = document.createElement("p");
  text.textContent = item.conflict.says;
  const row = document.createElement("div");
  row.className = "row";
  for (const [label, act] of [["Keep theirs", "theirs"], ["Use mine", "mine"]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = label;
    button.dataset.settle = act;
    button.dataset.box = item.box;
    if (act === "mine") button.className = "primary";
    row.append(button);
  }
  panel.append(text, row);
  at.replaceChildren(panel);
}

export function note(kind, text) {
  const line = document.createElement("p");
  line.className = `notice ${kind}`;
  line.textContent = text;
  return line;
}
