/* What was typed outlives a sign-in: a form that was refused because its person was signed out
   finds its text again when its page is opened by the same person in the same tab. */

const PREFIX = "typed:";
const LONGEST = 24 * 60 * 60 * 1000;
// Never kept: what signs a person in, what is hidden, files, and birth dates.
const SECRET = /csrf|token|secret|password|birth/i;
const TYPES = /^(?:password|file|hidden|submit|button|image|reset)$/;
const viewer = document.body.dataset.viewer ?? "";

function addressOf(form) {
  const address = new URL(form.getAttribute("action") || location.href, location.href);
  return address.origin === location.origin ? address.pathname + address.search : "";
}

function fieldsOf(form) {
  return [...form.elements].filter(
    (field) => field.name && !field.disabled && !field.readOnly && !TYPES.test(field.type)
      && !SECRET.test(field.name) && !/^(?:bday|one-time-code)/.test(field.autocomplete ?? ""),
  );
}

function stored() {
  return Object.keys(sessionStorage).filter((key) => key.startsWith(PREFIX))
    .map((key) => [key, JSON.parse(sessionStorage.getItem(key))]);
}

function forgetAll() {
  for (const [key] of stored()) sessionStorage.removeItem(key);
}

function keep(event) {
  if (event.defaultPrevented) return; // a script of the page keeps it itself
  const form = event.target;
  // The bench keeps its own figures; what is sent without leaving the page stays in its field.
  if (form.method !== "post" || form.id === "bench-form" || form.hasAttribute("hx-post")) return;
  const action = addressOf(form);
  if (action.startsWith("/accounts/logout")) forgetAll();
  if (!viewer || !action || action.startsWith("/accounts/")) return;
  const fields = fieldsOf(form).filter((field) => !/^(?:checkbox|radio)$/.test(field.type) || field.checked)
    .map((field) => [field.name, field.value]);
  if (!fields.length) return;
  const entry = { viewer, action, fields, at: Date.now(), refused: false };
  sessionStorage.setItem(`${PREFIX}${location.pathname}|${action}`, JSON.stringify(entry));
}

function fill(form, fields) {
  const remaining = new Map();
  for (const [name, value] of fields) remaining.set(name, [...(remaining.get(name) ?? []), value]);
  for (const field of fieldsOf(form)) {
    const values = remaining.get(field.name) ?? [];
    if (/^(?:checkbox|radio)$/.test(field.type)) field.checked = values.includes(field.value);
    else if (values.length) field.value = values.shift();
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

function putBack(entry) {
  const form = [...document.forms].find((one) => {
    if (one.method !== "post" || addressOf(one) !== entry.action) return false;
    const names = new Set(fieldsOf(one).map((field) => field.name));
    return entry.fields.every(([name]) => names.has(name));
  });
  if (!form) return false;
  fill(form, entry.fields);
  const line = document.createElement("p");
  line.className = "notice";
  line.setAttribute("role", "status");
  line.textContent = entry.signedOut
    ? "Put back what you typed before you were signed out. It is not saved yet."
    : "Put back what you typed. It is not saved yet.";
  form.prepend(line);
  return true;
}

/** Looks at what was sent: a page that refused it keeps it, its own page takes it back. */
function look() {
  const refusing = !viewer || document.querySelector("[data-refused]");
  // Pages that answer before it is known who is signed in do not say that nobody is.
  const unknown = document.querySelector("[data-refused=early]");
  for (const [key, entry] of stored()) {
    if (refusing) {
      const next = { ...entry, refused: true, signedOut: entry.signedOut || (!viewer && !unknown) };
      sessionStorage.setItem(key, JSON.stringify(next));
      continue;
    }
    const over = !entry.refused || entry.viewer !== viewer || Date.now() - entry.at > LONGEST;
    if (over || putBack(entry)) sessionStorage.removeItem(key);
  }
}

document.addEventListener("submit", (event) => {
  try {
    keep(event);
  } catch {
    // No room or no storage: the form is sent all the same.
  }
});
try {
  look();
} catch {
  // No storage: nothing was kept.
}
