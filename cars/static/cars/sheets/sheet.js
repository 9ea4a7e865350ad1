/* What a saved box's answer says about its field, for people who do not see it. */

document.addEventListener("htmx:afterSettle", () => {
  for (const field of document.querySelectorAll("[data-reading] input[aria-describedby]")) {
    const verdict = document.getElementById(field.getAttribute("aria-describedby"));
    if (verdict?.querySelector(".error")) field.setAttribute("aria-invalid", "true");
    else field.removeAttribute("aria-invalid");
  }
  tellSteps();
});

/** The mark of a step counts the boxes whose text is not on the sheet, also without a connection. */
function tellSteps() {
  for (const step of document.querySelectorAll("section.step")) {
    const tally = step.querySelector(".tally");
    const unsaved = step.querySelectorAll(".verdict .error, .send-error").length;
    tally.querySelector(".refused")?.remove();
    if (!unsaved) continue;
    const mark = document.createElement("span");
    mark.className = "state bad refused";
    mark.textContent = `! ${unsaved} not saved`;
    tally.append(" ", mark);
  }
}

// The note beside the box is put there by the same events.
for (const name of ["htmx:sendError", "htmx:responseError"]) {
  document.addEventListener(name, () => setTimeout(tellSteps));
}

// A saved box no longer says that it could not be sent.
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.successful) event.target.closest("[data-reading]")?.querySelector(".send-error")?.remove();
});
