/* Forms without a connection, of the desk and of the track: what somebody sends waits on this device first,
   goes off in the order it was made, and leaves the device when the server has it. Without this the forms work as ever. */

import { Outbox } from "./outbox.js";
import { contentOf, renew, takeUp } from "./form_item.js";
import { KIND, Sender } from "./send_forms.js";
import { Bar } from "./waiting_bar.js";

const here = document.querySelector("script[data-outbox-login]");
const viewer = document.body.dataset.viewer;
const MEND = "desk-mend";
const OFTEN = 5000;
const SELDOM = 60000;

let outbox;
let sender;
let wait = OFTEN;
let timer = 0;
let inHand = ""; // sent from its form at this moment: what becomes of it is shown there
const bar = new Bar(here.dataset.outboxLogin, { letGo, mend });

/* Sending */

async function flush() {
  await sender.flush();
  wait = sender.state === "well" ? OFTEN : Math.min(wait * 2, SELDOM);
  show();
}

function show() {
  const mine = outbox.items(KIND).filter((item) => item.id !== inHand);
  const sent = sender.sent.filter((item) => item.id !== inHand);
  bar.show({ mine, others: outbox.others(KIND), sent, state: sender.state });
  clearTimeout(timer);
  if (mine.some((item) => !item.state.answer)) timer = setTimeout(flush, wait);
}

async function soon() {
  wait = OFTEN;
  await sender.sending; // one that began without a line finds none
  flush();
}

/* From the form into the outbox */

/** The form goes off like any other; the server leads on, or gives it back to be mended. */
function sendPlainly(form) {
  form.dataset.plain = "yes";
  setTimeout(() => form.requestSubmit()); // not while the browser is still telling of a first one: it would be dropped
}

async function keep(form) {
  const item = outbox.make(contentOf(form));
  // Nothing is typed into it meanwhile: it is emptied for the next one, or goes off itself.
  const open = [...form.elements].filter((field) => !field.disabled);
  for (const field of open) field.disabled = true;
  inHand = item.id;
  let stands;
  try {
    stands = await sendFrom(form, item);
  } finally {
    inHand = "";
    for (const field of open) field.disabled = false;
  }
  if (stands === "refused") sendPlainly(form);
  else if (stands === "waits") goOn(form);
  else leadOn(sender.sent.find((one) => one.id === item.id)?.next ?? item.place);
}

/** What became of it: "sent", "refused", or "waits" here. */
async function sendFrom(form, item) {
  await outbox.put(item, { instead: form.dataset.mends ? [form.dataset.mends] : [] });
  delete form.dataset.mends;
  if (sender.state !== "well") {
    flush();
    return "waits";
  }
  await sender.sending;
  await flush();
  const now = outbox.get(item.id);
  if (!now) return "sent";
  if (!now.state.answer || now.state.waited) return "waits";
  await outbox.drop(item.id);
  return "refused";
}

/** It waits here: the form is free for the next record. */
function goOn(form) {
  renew(form);
  show();
  bar.box.scrollIntoView({ block: "start" });
  bar.box.focus({ preventScroll: true });
}

function leadOn(next) {
  const there = new URL(next, location.href);
  location.assign(there);
  if (there.hash && there.pathname === location.pathname) location.reload(); // else the browser only scrolls
}

async function onSubmit(event) {
  const form = event.target;
  if (!form.dataset.outbox || form.dataset.plain || !viewer) return;
  if (event.submitter?.hasAttribute("data-now")) return; // what it leads to needs the connection: it does not wait
  event.preventDefault();
  if (form.dataset.busy) return; // a double tap
  form.dataset.busy = "yes";
  try {
    await opening;
    await keep(form);
  } catch {
    sendPlainly(form); // no database in this browser, or no room in it
  } finally {
    delete form.dataset.busy;
  }
}
document.addEventListener("submit", onSubmit, true); // before typed.js, which then need not keep it
addEventListener("pageshow", () => { for (const form of document.forms) delete form.dataset.plain; });

/* What the bar's buttons do */

async function letGo(item) {
  await outbox.drop(item.id);
  show();
}

function mend(item) {
  sessionStorage.setItem(MEND, item.id);
  if (item.place === location.pathname + location.search) mendHere();
  else location.assign(item.place);
}

/** Goes on with what was to be mended, on the page that has its form. */
function mendHere() {
  const item = outbox.get(sessionStorage.getItem(MEND));
  sessionStorage.removeItem(MEND);
  if (item) takeUp(item);
}

async function openOutbox() {
  outbox = await Outbox.open(viewer);
  sender = new Sender(outbox);
  outbox.onChange(show);
  addEventListener("online", soon);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) soon(); });
}
const opening = openOutbox();
try {
  await opening;
  mendHere();
  await flush();
} catch {
  // No database in this browser: nothing waits here, and the forms work as ever.
}
