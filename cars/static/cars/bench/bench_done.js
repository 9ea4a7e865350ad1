/* The end of a bench: nothing that waits on this phone is forgotten when the sheet is closed. */

import { BenchOutbox } from "./bench_outbox.js";

const end = document.getElementById("bench-end");
const outbox = await BenchOutbox.open(end.dataset.sheet, end.dataset.user);
const net = document.getElementById("bench-net");

function show() {
  net.replaceChildren();
  if (outbox.isEmpty) {
    if (end.dataset.state === "closed") outbox.clear();
    return;
  }
  const head = document.createElement("p");
  head.textContent = end.dataset.state === "closed"
    ? "The sheet was closed before these were sent. Correct the sheet if they are right."
    : "These are kept on this phone and not on the sheet yet.";
  const list = document.createElement("ul");
  for (const { label: { step, name }, body: { text } } of outbox.items()) {
    const line = document.createElement("li");
    line.textContent = `${step.name}, ${name}: ${text || "(emptied)"}`;
    if (end.dataset.state === "open") {
      const link = document.createElement("a");
      link.href = `../bench/${step.slug}/`;
      link.textContent = "Show the box";
      line.append(" ", link);
    }
    list.append(line);
  }
  for (const { box, text } of outbox.drafts()) {
    const line = document.createElement("li");
    line.textContent = `${box}: ${text || "(emptied)"}`;
    list.append(line);
  }
  const box = document.createElement("div");
  box.className = "notice notice-warning";
  box.append(head, list);
  if (end.dataset.state === "closed") {
    const go = document.createElement("button");
    go.type = "button";
    go.textContent = "Let them go";
    go.addEventListener("click", () => {
      outbox.clear();
      show();
    });
    box.append(go);
  }
  net.append(box);
}

show();
outbox.onChange(show);
document.getElementById("bench-close")?.addEventListener("submit", (event) => {
  if (outbox.isEmpty || net.dataset.asked) return;
  // Closing twice is meant.
  event.preventDefault();
  net.dataset.asked = "yes";
  show();
  net.scrollIntoView();
});
