/* The bench's page: every field is kept as it is typed and saved as it is left, others' readings
   appear, and nothing is overwritten unseen. Without this the page is a plain form. */

// The page says where its parts are, because their names change with their content.
const root = () => document.getElementById("bench");
const parts = ["outbox", "pad", "send"].map((part) => import(root().dataset[part]));
const [{ newId, Outbox }, { Pad }, { Line }] = await Promise.all(parts);

const KEPT = "kept on this phone, not sent yet";
const PAD = "bench-pad";
const outbox = new Outbox(root().dataset.sheet, root().dataset.user);
const pages = new Map(); // the other steps, so that the next one opens at once, and without a line
const shownParts = new Map();

const page = {
  user: root().dataset.user,
  token: document.querySelector("#bench-form [name=csrfmiddlewaretoken]").value,
  get step() { return root().dataset.step; },
  get url() { return root().dataset.url; },
  get version() { return root().dataset.version; },
  apply, came, net, shown,
};
const line = new Line(outbox, page);
const pad = new Pad({ next: (field) => leave(field, 1), typed: () => {}, close: () => usePad(false) });

function fields() {
  return [...root().querySelectorAll("[data-bench]")];
}

function fieldOf(box) {
  return fields().find((field) => field.name === box);
}

function textOf(field) {
  return field.type === "checkbox" ? (field.checked ? field.value : "") : field.value.trim();
}

function write(field, text) {
  if (field.type === "checkbox") field.checked = Boolean(text);
  else field.value = text;
}

/** Said aloud; what is wrong with a box is said until that is mended. */
function say(text, box = "") {
  const said = document.getElementById("bench-said");
  said.textContent = text;
  said.dataset.wrongBox = box;
}

function nameOf(field) {
  return (field.labels?.[0]?.textContent ?? field.name).replace(/\s+/g, " ").trim();
}

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
    shown();
    return; // taken back before it was ever sent
  }
  const step = { slug: page.step, name: root().dataset.stepName };
  outbox.put({ id: newId(), box: field.name, name: nameOf(field), text, seen, again, at: Date.now(), order: tick(), step });
  shown();
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

/* Showing */

function place(field) {
  return document.getElementById(field.getAttribute("aria-describedby").split(" ")[0]);
}

function mark(field, kind, text = kind) {
  const at = place(field);
  at.dataset.kind = kind;
  const note = document.createElement("p");
  note.className = kind === "wrong" ? "error" : `kept-note ${kind.replace(" ", "-")}`;
  if (kind === "wrong") note.setAttribute("role", "alert");
  note.textContent = text;
  at.replaceChildren(note);
}

function clearMark(field) {
  const at = place(field);
  if (at.dataset.kind && at.dataset.kind !== "saved") {
    delete at.dataset.kind;
    at.replaceChildren();
  }
}

function showConflict(field, item) {
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

/** The state of every field, from what waits in the outbox. */
function shown() {
  const waiting = new Map(outbox.items().map((item) => [item.box, item]));
  const drafts = new Map(outbox.drafts().map((draft) => [draft.box, draft]));
  for (const field of fields()) {
    const item = waiting.get(field.name);
    const active = field === document.activeElement;
    if (item && !drafts.has(field.name) && !active) write(field, item.text);
    if (item?.wrong || item?.refused) field.setAttribute("aria-invalid", "true");
    else field.removeAttribute("aria-invalid");
    if (item?.conflict) showConflict(field, item);
    else if (item?.wrong) mark(field, "wrong", item.wrong);
    else if (item?.refused) mark(field, "wrong", item.refused);
    else if (item && line.state === "well" && !item.held) mark(field, "sending");
    else if (item) mark(field, "kept", KEPT);
    else if (drafts.has(field.name) && !active) mark(field, "kept", KEPT);
    else clearMark(field);
  }
  const said = document.getElementById("bench-said");
  const item = waiting.get(said.dataset.wrongBox);
  if (said.dataset.wrongBox && !item?.wrong && !item?.conflict && !item?.refused) say("");
  net(line.state);
}

let closed = false;
addEventListener("pageshow", () => { closed = false; });

/** What the server says stands now. */
function apply(said, force = false) {
  if (closed) return; // on the way to the end already: a second departure would break the first off
  // Of other steps a save says nothing: what changed there meanwhile comes with the next look.
  if (!said.before || said.before === root().dataset.version) root().dataset.version = said.version;
  if (said.user === page.user) page.token = said.token;
  if (said.state !== root().dataset.state) {
    closed = true;
    location.assign(page.url.replace(/[^/]+\/$/, "done")); // closed, by somebody: what waits is told there
    return;
  }
  for (const box of said.boxes) {
    const field = fieldOf(box.name);
    if (field) follow(field, box, force);
  }
  for (const [id, html] of Object.entries(said.parts)) putPart(id, html);
}

function follow(field, box, force) {
  if (box.seen === field.dataset.seen && box.text === field.dataset.stood) return;
  if (outbox.of(field.name).length || (!force && outbox.draft(field.name))) {
    if (box.by) say(`${box.by}: ${nameOf(field)} ${box.text}`);
    return; // what the person saw stays what they saw: the save will ask them
  }
  const other = box.seen !== field.dataset.seen;
  field.dataset.seen = box.seen;
  field.dataset.stood = box.text;
  outbox.dropDraft(field.name);
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

function putPart(id, html) {
  const part = document.getElementById(id);
  if (!part || shownParts.get(id) === html) return;
  const made = document.createElement("template");
  made.innerHTML = html;
  const within = part.contains(document.activeElement);
  const value = document.activeElement?.value;
  part.replaceWith(made.content);
  shownParts.set(id, html);
  if (within) [...document.getElementById(id).querySelectorAll("button")].find((b) => b.value === value)?.focus();
}

/** How the connection is, and what waits for another step. */
function net(state) {
  const box = document.getElementById("bench-net");
  const items = outbox.items();
  const stuck = items.filter((item) => !fieldOf(item.box) && (item.wrong || item.conflict || item.refused));
  const said = [];
  if (state === "offline") said.push(["offline", `No connection. Go on: ${items.length ? `${items.length} ${items.length === 1 ? "reading is" : "readings are"} ` : "what you type is "}kept on this phone and sent when it is back.`]);
  if (state === "signed out") said.push(["signed-out", "You are signed out. What you typed is kept on this phone and sent when you have signed in."]);
  const key = JSON.stringify([said, stuck]);
  if (box.dataset.key === key) return;
  box.dataset.key = key;
  box.replaceChildren(...said.map(([kind, text]) => note(kind, text)));
  if (state === "signed out") {
    const link = document.createElement("a");
    link.className = "button primary";
    link.href = `${root().dataset.login}?next=${encodeURIComponent(location.pathname)}`;
    link.textContent = "Sign in again";
    box.lastElementChild.append(link);
  }
  for (const item of stuck) {
    const line = note("stuck", `${item.step.name}, ${item.name}: ${item.conflict?.says ?? item.wrong ?? item.refused} `);
    const link = document.createElement("a");
    link.href = page.url.replace(/[^/]+\/$/, `${item.step.slug}/`);
    link.textContent = "Look at it";
    link.dataset.go = "";
    line.append(link);
    box.append(line);
  }
}

function note(kind, text) {
  const line = document.createElement("p");
  line.className = `notice ${kind}`;
  line.textContent = text;
  return line;
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
    await go(button.dataset.go || button.href, true);
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
    shown();
    line.look(true);
  } else {
    const mine = items.at(-1);
    for (const item of items) outbox.drop(item.id);
    outbox.put({ ...mine, id: newId(), text: textOf(field) || mine.text, seen: conflict.seen, conflict: undefined, tried: false });
    outbox.dropDraft(box);
    shown();
    line.flush();
  }
  field.focus();
}

async function undo(field) {
  await line.flush();
  const result = await line.undo(field.name, field.dataset.seen);
  if (!result) say("No connection: it can be put back when the connection is.");
  else if (result.status === "saved") mark(field, "saved", "put back");
  else mark(field, "wrong", result.says);
}

/* From step to step */

async function fetched(path) {
  const response = await fetch(path, { credentials: "same-origin" });
  if (response.redirected || !response.ok) throw new Error("not a step");
  return response.text();
}

async function go(href, push) {
  const path = new URL(href, location.href).pathname;
  try {
    if (!pages.has(path)) pages.set(path, await fetched(path));
  } catch {
    net(line.state === "well" ? "offline" : line.state);
    say("No connection: this step opens when it is back. What you typed is kept on this phone.");
    return;
  }
  const made = new DOMParser().parseFromString(pages.get(path), "text/html");
  const next = made.getElementById("bench");
  if (!next) {
    location.assign(path);
    return;
  }
  next.dataset.version = "";
  root().replaceWith(document.adoptNode(next));
  shownParts.clear();
  document.title = made.title;
  if (push) history.pushState(null, "", path);
  scrollTo(0, 0);
  begin();
  root().querySelector("h1").focus();
  line.soon();
}
addEventListener("popstate", () => go(location.href, false));

/** Fetched once, one after the other, so that the next step opens at once and without a line. */
async function fetchAhead() {
  for (const link of [...document.querySelectorAll(".bench-strip a")]) {
    const path = new URL(link.href).pathname;
    if (pages.has(path)) continue;
    try {
      pages.set(path, await fetched(path));
    } catch {
      return;
    }
  }
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
  shown();
}

pages.set(location.pathname, document.documentElement.outerHTML);
begin();
line.start();
setTimeout(fetchAhead, 1500);
