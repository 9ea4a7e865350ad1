/* Signing out asks once more while something of this person waits on the device to be sent. It stays
   there, for nobody else to see, and goes off when they sign in here again. */

const viewer = document.body.dataset.viewer ?? "";

/** Figures of the bench: one key each, under the person's own prefix. */
function figuresWaiting() {
  try {
    return Object.keys(localStorage).filter((key) => key.startsWith(`bench:${viewer}:`) && key.includes(":item:")).length;
  } catch {
    return 0; // no storage in this browser, so nothing waits in it
  }
}

/** Records of the desk, in the browser's own database. */
function recordsWaiting() {
  return new Promise((resolve) => {
    let asked;
    try {
      asked = indexedDB.open("desk");
    } catch {
      resolve(0);
      return;
    }
    asked.onupgradeneeded = () => asked.transaction.abort(); // it was never made: do not make it
    asked.onerror = () => resolve(0);
    asked.onsuccess = () => {
      const database = asked.result;
      const found = database.transaction("records").objectStore("records").getAll();
      found.onsuccess = () => {
        database.close();
        resolve(found.result.filter((record) => record.viewer === viewer).length);
      };
      found.onerror = () => resolve(0);
    };
  });
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
  const count = figuresWaiting() + await recordsWaiting();
  if (count) {
    ask(form, button, count);
  } else {
    form.dataset.asked = "yes";
    form.requestSubmit(button);
  }
}
document.addEventListener("submit", onSubmit, true);
