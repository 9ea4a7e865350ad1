/* The bench's page: every field is kept as it is typed and saved as it is left, others' readings
   appear, and nothing is overwritten unseen. Without this the page is a plain form. */

// The page says where its parts are, because their names change with their content.
const root = () => document.getElementById("bench");
const parts = ["newId", "outbox", "pad", "send", "boxes", "said", "steps"].map((part) => import(root().dataset[part]));
const [{ newId }, { Outbox }, { Pad }, { Line }, boxes, { Said }, { Steps }] = await Promise.all(parts);
const { clearMark, fieldOf, fields, mark, nameOf, place, say, textOf, write } = boxes;

const PAD = "bench-pad";
const outbox = new Outbox(root().dataset.sheet, root().dataset.user);

const page = {
  user: root().dataset.user,
  token: document.querySelector("#bench-form [name=csrfmiddlewaretoken]").value,
  get step() { return root().dataset.step; },
  get url() { return root().dataset.url; },
  get version() { return root().dataset.version; },
  begin() {
    said.parts.clear();
    begin();
  },
  lost() {
    said.net(line.state === "well" ? "offline" : line.state);
    say("No connection: this step opens when it is back. What you typed is kept on this phone.");
  },
  apply(answer, force) {
    said.apply(answer, force);
    steps.stands(answer.step, answer.boxes, answer.parts);
  },
  came,
  net: (state) => said.net(state),
  shown: () => said.shown(),
};
const line = new Line(outbox, page);
page.line = line;
const said = new Said(boxes, outbox, page);
const steps = new Steps(boxes, page);
const pad = new Pad({ next: (field) => leave(field, 1), typed: () => {}, close: () => usePad(false) });

/* Keeping and sending */

/** What the person saw in a box: what they last typed there themselves, or what the page shows. */
function seenIn(field) {
  return outbox.of(field.name).at(-1)?.id ?? field.dataset.seen;
}

function keepDraft(field) {
  const draft = outbox.draft(field.name);
  const text = textOf(field);
  const last = outbox.of(field.name).at(-1);
  if (text === (last ? last.text : field.dataset.stood)) outbox.dropDraft(field.name);
  else outbox.putDraft({ box: field.name, text, seen: draft?.seen ?? seenIn(field) });
}

/** The field is left: what it holds is a reading, and goes off. */
function keep(field, again = false) {
  const text = textOf(field);
  const draft = outbox.draft(field.name);
  outbox.dropDraft(field.name);
  const waiting = outbox.of(field.name);
  const last = waiting.at(-1);
  if (!again && text === (last ? last.text : field.dataset.stood)) return;
  const blocked = waiting.filter((item) => item.wrong || item.conflict || item.refused || !item.tried);
  let seen = draft?.seen ?? seenIn(field);
  for (const item of blocked) {
    outbox.drop(item.id);
    if (seen === item.id) seen = item.seen;
  }
  if (!again && !outbox.of(field.name).length && text === field.dataset.stood && seen === field.dataset.seen) {
    said.shown();
    return; // taken back before it was ever sent
  }
  const step = { slug: page.step, name: root().dataset.stepName };
  outbox.put({ id: newId(), box: field.name, name: nameOf(field), text, seen, again, at: Date.now(), order: tick(), step });
  said.shown();
  line.flush();
}

let ticks = 0;
/** Ever rising, so that what was typed in one millisecond stays in order. */
function tick() {
  ticks = Math.max(ticks + 0.001, Date.now());
  return ticks;
}

/** A box that was sent has been answered. */
function came(item, result) {
  if (result.status === "saved") steps.stands(item.step.slug, [{ name: item.box, seen: result.seen, text: item.text }]);
  const field = fieldOf(item.box);
  if (!field) return;
  if (result.status === "saved") {
    field.dataset.seen = result.seen;
    field.dataset.stood = item.text;
    if (!outbox.of(item.box).length) mark(field, "saved");
  } else {
    say(`${nameOf(field)}: ${result.says}`, item.box);
    comeBack(field);
  }
}

/** From the field that Enter went on to, unless something was typed there meanwhile. */
function comeBack(field) {
  const next = document.activeElement;
  if (left.from !== field || left.to !== next || next === field) return;
  if (next.matches("[data-bench]") && textOf(next) !== (outbox.of(next.name).at(-1)?.text ?? next.dataset.stood)) return;
  left = {};
  field.focus();
  if (field.type !== "checkbox") field.select();
}

/* What the person does */

let left = {}; // the field that was left last with Enter, and where that led

function leave(field, by) {
  keep(field);
  const open = fields().filter((each) => each.checkVisibility());
  const next = open[open.indexOf(field) + by];
  if (next) {
    next.focus();
    if (next.type !== "checkbox") next.select();
  } else if (by > 0) document.getElementById("bench-next").focus();
  left = { from: field, to: document.activeElement };
}

document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (event.key !== "Enter" || !(field instanceof HTMLInputElement) || !field.matches("[data-bench]")) return;
  event.preventDefault();
  leave(field, event.shiftKey ? -1 : 1);
});
document.addEventListener("input", (event) => {
  const field = event.target;
  if (!(field instanceof HTMLInputElement) || !field.matches("[data-bench]")) return;
  if (field.type === "checkbox") keep(field);
  else {
    if (place(field).dataset.kind !== "conflict") clearMark(field);
    field.removeAttribute("aria-invalid");
    pad.follow(field);
    keepDraft(field);
  }
});
document.addEventListener("focusin", (event) => pad.at(event.target));
document.addEventListener("focusout", (event) => {
  const field = event.target;
  if (field instanceof HTMLInputElement && field.matches("[data-bench]") && field.type !== "checkbox") keep(field);
});
for (const name of ["pagehide", "visibilitychange"]) {
  addEventListener(name, () => {
    const field = document.activeElement;
    if (name === "visibilitychange" && !document.hidden) return;
    if (field instanceof HTMLInputElement && field.matches("[data-bench]") && field.type !== "checkbox") keep(field);
  }, true);
}

document.addEventListener("click", async (event) => {
  const button = event.target.closest("button, a");
  if (!button) return;
  if (button.id === "pad-switch") usePad(!pad.isOn);
  else if (button.dataset.settle) settle(button.dataset.box, button.dataset.settle);
  else if (button.dataset.back) letGo(fieldOf(button.dataset.back));
  else if (button.name === "undo" || button.name === "again" || button.name === "theirs" || button.name === "mine") {
    event.preventDefault();
    const field = fieldOf(button.value);
    if (button.name === "again") keep(field, true);
    else if (button.name === "undo") await undo(field);
    else location.assign(location.pathname);
  } else if (button.dataset.leave !== undefined) {
    event.preventDefault();
    await line.flush();
    if (line.state === "well") location.assign(button.dataset.leave || button.href);
    else say("No connection: the end of the bench opens when it is back.");
  } else if (button.dataset.go !== undefined && !event.metaKey && !event.ctrlKey) {
    event.preventDefault();
    await steps.go(button.dataset.go || button.href, true);
  }
});
document.addEventListener("submit", (event) => {
  if (event.target.id !== "bench-form") return;
  event.preventDefault();
  line.flush();
});

/** Keep theirs: mine goes. Use mine: it is sent again, now knowing theirs. */
function settle(box, choice) {
  const field = fieldOf(box);
  const items = outbox.of(box);
  const conflict = items.findLast((item) => item.conflict)?.conflict;
  if (!conflict) return;
  if (choice === "theirs") {
    for (const item of items) outbox.drop(item.id);
    outbox.dropDraft(box);
    field.dataset.seen = conflict.seen;
    field.dataset.stood = conflict.theirs;
    write(field, conflict.theirs);
    clearMark(field);
    said.shown();
    line.look(true);
  } else {
    const mine = items.at(-1);
    for (const item of items) outbox.drop(item.id);
    outbox.put({ ...mine, id: newId(), text: textOf(field) || mine.text, seen: conflict.seen, conflict: undefined, tried: false });
    outbox.dropDraft(box);
    said.shown();
    line.flush();
  }
  field.focus();
}

/** What was refused is let go, and the field says again what stands on the sheet. */
function letGo(field) {
  for (const item of outbox.of(field.name)) outbox.drop(item.id);
  outbox.dropDraft(field.name);
  write(field, field.dataset.stood);
  clearMark(field);
  said.shown();
  field.focus();
}

async function undo(field) {
  await line.flush();
  const result = await line.undo(field.name, field.dataset.seen);
  if (!result) say("No connection: it can be put back when the connection is.");
  else if (result.status === "saved") mark(field, "saved", "put back");
  else mark(field, "wrong", result.says);
}

function usePad(on) {
  pad.turn(on);
  document.getElementById("pad-switch").setAttribute("aria-pressed", String(on));
  try { localStorage.setItem(PAD, on ? "on" : ""); } catch { /* not remembered */ }
  const field = pad.field?.isConnected ? pad.field : fields().find((each) => each.matches(".number"));
  if (on) field?.focus();
  else document.getElementById("pad-switch").focus();
}

function padWanted() {
  try { return localStorage.getItem(PAD) === "on"; } catch { return false; }
}

/** What was typed before and never sent comes back into its field. */
function begin() {
  for (const draft of outbox.drafts()) {
    const field = fieldOf(draft.box);
    if (field) write(field, draft.text);
  }
  document.getElementById("pad-switch").hidden = false;
  document.getElementById("pad-switch").setAttribute("aria-pressed", String(pad.isOn || padWanted()));
  if (padWanted()) pad.turn(true);
  said.shown();
}

begin();
line.start();
setTimeout(() => steps.ahead(), 1500);
