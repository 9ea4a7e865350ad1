/* The bench's page: every field is kept as it is typed and saved as it is left, others' readings
   appear, and nothing is overwritten unseen. Without this the page is a plain form. */

import * as boxes from "./bench_boxes.js";
import { Saver } from "./bench_save.js";
import { BenchOutbox } from "./bench_outbox.js";
import { Pad } from "./bench_pad.js";
import { StatusView } from "./bench_status.js";
import { Line } from "./bench_send.js";
import { Steps } from "./bench_steps.js";

const { clearMark, fieldOf, fields, place, root, say, textOf, write } = boxes;

const PAD = "bench-pad";
const outbox = await BenchOutbox.open(root().dataset.sheet, root().dataset.user);

const page = {
  user: root().dataset.user,
  token: document.querySelector("#bench-form [name=csrfmiddlewaretoken]").value,
  get step() { return root().dataset.step; },
  get stepName() { return root().dataset.stepName; },
  get url() { return root().dataset.url; },
  get version() { return root().dataset.version; },
  begin() {
    status.parts.clear();
    begin();
  },
  lost() {
    status.net(line.state === "well" ? "offline" : line.state);
    say("No connection: this step opens when it is back. What you typed is kept on this phone.");
  },
  apply(answer, force) {
    status.apply(answer, force);
    steps.stands(answer.step, answer.boxes, answer.parts);
  },
  came: (item, result) => saver.came(item, result),
  net: (state) => status.net(state),
  show: () => status.show(),
};
const line = new Line(outbox, page);
page.line = line;
const status = new StatusView(boxes, outbox, page);
const steps = new Steps(boxes, page);
const saver = new Saver({ boxes, outbox, line, page, status, steps, comeBack });
const pad = new Pad({ next: (field) => leave(field, 1), typed: () => {}, close: () => usePad(false) });

/* What the person does */

let lastMove = {}; // the field that was left last with Enter, and where that led

function leave(field, by) {
  saver.save(field);
  const open = fields().filter((each) => each.checkVisibility());
  const next = open[open.indexOf(field) + by];
  if (next) {
    next.focus();
    if (next.type !== "checkbox") next.select();
  } else if (by > 0) document.getElementById("bench-next").focus();
  lastMove = { from: field, to: document.activeElement };
}

/** From the field that Enter went on to, unless something was typed there meanwhile. */
function comeBack(field) {
  const next = document.activeElement;
  if (lastMove.from !== field || lastMove.to !== next || next === field) return;
  if (next.matches("[data-bench]") && textOf(next) !== saver.standsIn(next)) return;
  lastMove = {};
  field.focus();
  if (field.type !== "checkbox") field.select();
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
  if (field.type === "checkbox") saver.save(field);
  else {
    if (place(field).dataset.kind !== "conflict") clearMark(field);
    field.removeAttribute("aria-invalid");
    pad.follow(field);
    saver.saveDraft(field);
  }
});
document.addEventListener("focusin", (event) => {
  const field = event.target;
  pad.at(field);
  if (field instanceof HTMLInputElement && field.matches("[data-bench]")) boxes.showMore(field);
});
document.addEventListener("focusout", (event) => {
  const field = event.target;
  if (field instanceof HTMLInputElement && field.matches("[data-bench]") && field.type !== "checkbox") saver.save(field);
});
for (const name of ["pagehide", "visibilitychange"]) {
  addEventListener(name, () => {
    const field = document.activeElement;
    if (name === "visibilitychange" && !document.hidden) return;
    if (field instanceof HTMLInputElement && field.matches("[data-bench]") && field.type !== "checkbox") saver.save(field);
  }, true);
}

document.addEventListener("click", async (event) => {
  const button = event.target.closest("button, a");
  if (!button) return;
  if (button.id === "pad-switch") usePad(!pad.isOn);
  else if (button.dataset.settle) saver.settle(button.dataset.box, button.dataset.settle);
  else if (button.dataset.more) readAgain(fieldOf(button.dataset.more));
  else if (button.dataset.back) saver.letGo(fieldOf(button.dataset.back));
  else if (button.name === "undo" || button.name === "again" || button.name === "theirs" || button.name === "mine") {
    event.preventDefault();
    const field = fieldOf(button.value);
    if (button.name === "again") saver.save(field, true);
    else if (button.name === "undo") await saver.undo(field);
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

/** Opens the second take of a box, or the third where the second was read. */
function readAgain(field) {
  const takes = boxes.showMore(field)?.querySelector(".takes");
  if (!takes) return;
  takes.open = true;
  const [second, third] = takes.querySelectorAll("[data-bench]");
  (second.value && third ? third : second).focus();
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
  status.show();
}

outbox.onChange(() => status.show());
begin();
line.start();
setTimeout(() => steps.ahead(), 1500);
