/* The desk without a connection: what an official sends is kept on this device first, goes off in the
   order it was made, and leaves the device when the server has it. Without this the forms work as ever. */

const here = document.querySelector("script[data-kept-store]");
const parts = ["newId", "keptStore", "keptBar"].map((part) => import(here.dataset[part]));
const [{ newId }, { all, put, drop }, { Bar }] = await Promise.all(parts);

const viewer = document.body.dataset.viewer;
const MEND = "desk-mend";
const OFTEN = 5000;
const SELDOM = 60000;
const PATIENCE = { words: 12000, photo: 60000 };

const bar = new Bar(here, { letGo, mend });
const sent = []; // what went off while this page was open
let state = "well";
let wait = OFTEN;
let timer = 0;
let sending = null;
let inHand = ""; // sent from its form at this moment: what becomes of it is shown there

/* Sending */

const tokenOf = (body) => JSON.parse(body.getAttribute("hx-headers") ?? "{}")["X-CSRFToken"] ?? "";
let token = tokenOf(document.body);

/** Takes the token of this page as it is now: signing in again, in another tab say, changes it. */
async function renewToken() {
  const response = await fetch(location.href, { credentials: "same-origin", cache: "no-store" });
  if (!response.ok || response.redirected) return false;
  const { body } = new DOMParser().parseFromString(await response.text(), "text/html");
  if (body.dataset.viewer !== viewer || tokenOf(body) === token) return false;
  token = tokenOf(body);
  return true;
}

/** How it ended: saved and where that leads, refused and why, or that it could not be asked now. */
async function ask(record, again = false) {
  const form = new FormData();
  for (const [name, value] of record.fields) form.append(name, value);
  if (record.waited) form.append("device_at", new Date(record.at).toISOString());
  const photo = record.fields.some(([, value]) => value instanceof File && value.size);
  try {
    const response = await fetch(record.action, {
      method: "POST",
      body: form,
      credentials: "same-origin",
      cache: "no-store",
      headers: { Accept: "application/json", "Desk-Sender": record.viewer, "X-CSRFToken": token },
      signal: AbortSignal.timeout(photo ? PATIENCE.photo : PATIENCE.words),
    });
    if (response.status === 403 && !again && await renewToken()) return await ask(record, true);
    if (response.redirected || response.status === 403) return { status: "signed out" };
    if (response.status >= 500 || response.status === 429) return { status: "offline" };
    return await response.json();
  } catch (problem) {
    return { status: problem instanceof SyntaxError ? "signed out" : "offline" };
  }
}

/** Sends this person's records one after the other, until none is left or the line is not well. */
function flush() {
  sending ??= send().finally(() => { sending = null; });
  return sending;
}

async function send() {
  state = "well";
  for (const { id } of await waiting()) {
    const record = (await all()).find((one) => one.id === id); // another page may have sent it
    if (!record) continue;
    const answer = await ask(record);
    if (answer.status === "saved") {
      await drop(id);
      sent.push({ ...record, next: answer.next });
    } else if (answer.status === "refused") {
      await put({ ...record, refused: answer.says });
    } else {
      state = answer.status;
      for (const one of await waiting()) if (!one.waited) await put({ ...one, waited: true });
      break;
    }
  }
  wait = state === "well" ? OFTEN : Math.min(wait * 2, SELDOM);
  await show();
}

async function waiting() {
  return (await all()).filter((record) => record.viewer === viewer && !record.refused);
}

async function show() {
  const found = await all();
  const mine = found.filter((record) => record.viewer === viewer && record.id !== inHand);
  const others = found.filter((record) => record.viewer !== viewer);
  bar.show({ mine, others, sent: sent.filter((record) => record.id !== inHand), state });
  clearTimeout(timer);
  if (mine.some((record) => !record.refused)) timer = setTimeout(flush, wait);
}

async function soon() {
  wait = OFTEN;
  await sending; // one that began without a line finds none
  flush();
}

/* Keeping */

function labelOf(field) {
  return (field.labels?.[0]?.textContent ?? field.name).replace(/\s+/g, " ").trim();
}

/** What a person reads in the list: what they typed, field by field. */
function wordsOf(form) {
  const said = [];
  for (const field of form.elements) {
    if (!field.name || field.type === "hidden" || field.type === "submit" || !field.value) continue;
    if (/^(?:checkbox|radio)$/.test(field.type) && !field.checked) continue;
    const group = field.type === "radio" && field.closest("fieldset")?.querySelector("legend")?.textContent.trim();
    const text = field.tagName === "SELECT" ? field.selectedOptions[0].textContent : field.value;
    if (field.type === "checkbox") said.push(labelOf(field));
    else if (field.type === "file") said.push("with a photo");
    else said.push(group ? `${group} ${labelOf(field)}` : `${labelOf(field)} ${text}`);
  }
  return said.join("; ");
}

function recordOf(form) {
  return {
    id: form.elements.row_id.value,
    viewer,
    who: here.dataset.who,
    action: new URL(form.getAttribute("action") || location.href, location.href).pathname,
    page: form.dataset.keptPage ?? location.pathname + location.search,
    fields: [...new FormData(form)].filter(([name]) => name !== "csrfmiddlewaretoken"),
    title: form.dataset.kept,
    words: wordsOf(form),
    at: Date.now(),
    waited: false,
  };
}

/** The form goes off like any other; the server leads on, or gives it back to be mended. */
function sendPlainly(form) {
  form.dataset.plain = "yes";
  form.requestSubmit();
}

async function keep(form) {
  const record = recordOf(form);
  // Nothing is typed into it meanwhile: it is emptied for the next one, or goes off itself.
  const open = [...form.elements].filter((field) => !field.disabled);
  for (const field of open) field.disabled = true;
  inHand = record.id;
  let stands;
  try {
    stands = await sendFrom(form, record);
  } finally {
    inHand = "";
    for (const field of open) field.disabled = false;
  }
  if (stands === "refused") sendPlainly(form);
  else if (stands === "waits") await goOn(form);
  else leadOn(sent.find((one) => one.id === record.id)?.next ?? record.page);
}

/** What became of it: "sent", "refused", or "waits" here. */
async function sendFrom(form, record) {
  await put(record);
  if (form.dataset.mends) await drop(form.dataset.mends);
  delete form.dataset.mends;
  if (state !== "well") {
    flush();
    return "waits";
  }
  if (sending) await sending;
  await flush();
  const now = (await all()).find((one) => one.id === record.id);
  if (!now) return "sent";
  if (!now.refused || now.waited) return "waits";
  await drop(record.id);
  return "refused";
}

/** It waits here: the form is free for the next record. */
async function goOn(form) {
  form.reset();
  form.elements.row_id.value = newId();
  await show();
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
  if (!form.dataset.kept || form.dataset.plain || !viewer) return;
  event.preventDefault();
  if (form.dataset.busy) return; // a double tap
  form.dataset.busy = "yes";
  try {
    await keep(form);
  } catch {
    sendPlainly(form); // no room here, or none for us
  } finally {
    delete form.dataset.busy;
  }
}
document.addEventListener("submit", onSubmit, true); // before typed.js, which then need not keep it
addEventListener("pageshow", () => { for (const form of document.forms) delete form.dataset.plain; });

/* What the bar's buttons do */

async function letGo(record) {
  await drop(record.id);
  await show();
}

async function mend(record) {
  sessionStorage.setItem(MEND, record.id);
  if (record.page === location.pathname + location.search) await takeUp();
  else location.assign(record.page);
}

/** Puts a refused record back into its form; it leaves the list when the form is sent anew. */
async function takeUp() {
  const id = sessionStorage.getItem(MEND);
  const record = id && (await all()).find((one) => one.id === id && one.viewer === viewer);
  const form = record && [...document.forms].find((one) => one.dataset.kept && recordOf(one).action === record.action);
  sessionStorage.removeItem(MEND);
  if (!form) return;
  form.closest("details")?.setAttribute("open", "");
  const values = new Map(record.fields.filter(([, value]) => typeof value === "string"));
  for (const field of form.elements) {
    if (field.type === "checkbox") field.checked = values.get(field.name) === field.value;
    else if (field.type === "radio") field.checked = values.get(field.name) === field.value;
    else if (values.has(field.name) && field.type !== "hidden") field.value = values.get(field.name);
  }
  form.elements.row_id.value = newId();
  form.dataset.mends = record.id;
  [...form.elements].find((field) => field.checkVisibility() && field.name)?.focus();
}

addEventListener("online", soon);
document.addEventListener("visibilitychange", () => { if (!document.hidden) soon(); });
try {
  await takeUp();
  await flush();
} catch {
  // No database in this browser: nothing is kept, and the forms work as ever.
}
