/* The end of a bench: nothing that waits on this phone is forgotten when the sheet is closed. */

const end = document.getElementById("bench-end");
const { Outbox } = await import(end.dataset.outbox);
const outbox = new Outbox(end.dataset.sheet, end.dataset.user);
const net = document.getElementById("bench-net");

function show() {
  net.replaceChildren();
  const waiting = [...outbox.items(), ...outbox.drafts()];
  if (!waiting.length) {
    if (end.dataset.state === "closed") outbox.clear();
    return;
  }
  const head = document.createElement("p");
  head.textContent = end.dataset.state === "closed"
    ? "The sheet was closed before these were sent. Correct the sheet if they are right."
    : "These are kept on this phone and not on the sheet yet.";
  const list = document.createElement("ul");
  for (const item of waiting) {
    const line = document.createElement("li");
    line.textContent = `${item.step ? `${item.step.name}, ` : ""}${item.name ?? item.box}: ${item.text || "(emptied)"}`;
    if (item.step && end.dataset.state === "open") {
      const link = document.createElement("a");
      link.href = `../bench/${item.step.slug}/`;
      link.textContent = "Look at it";
      line.append(" ", link);
    }
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
document.getElementById("bench-close")?.addEventListener("submit", (event) => {
  if (outbox.isEmpty || net.dataset.asked) return;
  // Closing twice is meant.
  event.preventDefault();
  net.dataset.asked = "yes";
  show();
  net.scrollIntoView();
});
