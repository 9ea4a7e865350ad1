/* Signing out asks once more while something of this person waits on the device to be sent. It stays
   there, for nobody else to see, and goes off when they sign in here again. */

import { Outbox } from "./offline/outbox.js";

const viewer = document.body.dataset.viewer ?? "";

async function countWaiting() {
  try {
    const outbox = await Outbox.open(viewer);
    return outbox.items().length;
  } catch {
    return 0; // no database in this browser, so nothing waits in it
  }
}

function ask(form, button, count) {
  const note = document.createElement("p");
  note.className = "notice notice-warning";
  note.setAttribute("role", "alert");
  const what = count === 1 ? "1 thing you entered waits" : `${count} things you entered wait`;
  note.textContent = `${what} on this device and did not reach the server. Signed out, it stays here unseen and is sent when you sign in on this device again.`;
  form.before(note);
  button.textContent = "Sign out all the same";
  form.dataset.asked = "yes";
}

async function onSubmit(event) {
  const form = event.target;
  if (!viewer || !form.action.endsWith("/accounts/logout/") || form.dataset.asked) return;
  event.preventDefault();
  const button = event.submitter ?? form.querySelector("button");
  const count = await countWaiting();
  if (count) {
    ask(form, button, count);
  } else {
    form.dataset.asked = "yes";
    form.requestSubmit(button);
  }
}
document.addEventListener("submit", onSubmit, true);
