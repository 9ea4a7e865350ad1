/* What a saved box's answer says about its field, for people who do not see it. */

document.addEventListener("htmx:afterSettle", () => {
  for (const field of document.querySelectorAll("[data-reading] input[aria-describedby]")) {
    const verdict = document.getElementById(field.getAttribute("aria-describedby"));
    if (verdict?.querySelector(".error")) field.setAttribute("aria-invalid", "true");
    else field.removeAttribute("aria-invalid");
  }
});

// A saved box no longer says that it could not be sent.
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.successful) event.target.closest("[data-reading]")?.querySelector(".send-error")?.remove();
});
