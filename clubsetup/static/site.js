/* Small manners for every page; the pages work without them. */

// Enter in a figure's field goes to the next one, as on a calculator; Shift+Enter goes back.
document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (event.key !== "Enter" || !(field instanceof HTMLInputElement) || !field.matches("[data-next]")) return;
  event.preventDefault();
  const fields = [...document.querySelectorAll("input[data-next]:not([disabled])")];
  const next = fields[fields.indexOf(field) + (event.shiftKey ? -1 : 1)];
  if (next) {
    next.focus();
    next.select();
  } else {
    field.blur();
  }
});

// A button that copies the text of the field it names.
document.addEventListener("click", async (event) => {
  const button = event.target instanceof Element && event.target.closest("[data-copy]");
  if (!button) return;
  const field = document.getElementById(button.dataset.copy);
  if (!(field instanceof HTMLInputElement)) return;
  field.select();
  try {
    await navigator.clipboard.writeText(field.value);
    button.textContent = "Copied";
  } catch {
    // No clipboard over plain HTTP: the text is selected, the person copies it.
  }
});

// What cannot be sent says so; what was typed stays in its field.
document.addEventListener("htmx:sendError", (event) => mark(event.target, "Not saved: no connection. It is kept here; leave the field again to retry."));
document.addEventListener("htmx:responseError", (event) => mark(event.target, "Not saved: the server refused. Reload the page and look."));

// Without a connection a form leads to the browser's own page, and what was typed is gone. A server on this machine
// answers all the same, so it is asked.
document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (event.defaultPrevented || navigator.onLine || form.method !== "post" || form.id === "bench-form") return;
  if (form.dataset.answers) return void delete form.dataset.answers;
  event.preventDefault();
  try {
    await fetch(import.meta.url, { method: "HEAD", cache: "no-store" });
  } catch {
    mark(form, "Not sent: no connection. What you typed stays here; press the button again once there is one.");
    return;
  }
  form.dataset.answers = "yes";
  form.requestSubmit(event.submitter);
});

function mark(element, text) {
  const place = element.closest("[data-reading], form, .field") ?? element;
  let note = place.querySelector(":scope > .send-error");
  if (!note) {
    note = document.createElement("p");
    note.className = "error send-error";
    note.setAttribute("role", "alert");
    place.append(note);
  }
  note.textContent = text;
}

// A phone that is handed over: what other tabs show, or stands behind the back button, makes way for its page.
const HANDED_OVER = "handed-over";
const itsPage = document.querySelector("[data-handed-over]")?.dataset.handedOver;

function makeWay() {
  const page = localStorage.getItem(HANDED_OVER);
  if (page && !itsPage) location.replace(page);
}

try {
  if (itsPage) localStorage.setItem(HANDED_OVER, itsPage);
  else localStorage.removeItem(HANDED_OVER); // the server gave another page, so it is handed over no more
  addEventListener("storage", (event) => { if (event.key === HANDED_OVER) makeWay(); });
  addEventListener("pageshow", (event) => { if (event.persisted) makeWay(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) makeWay(); });
} catch {
  // No storage: the server leads whatever is asked for to that page all the same.
}
