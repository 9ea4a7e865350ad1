// The last pad's Enter weighs in; site.js would only leave the field.
document.addEventListener(
  "keydown",
  (event) => {
    if (event.key === "Enter" && !event.shiftKey && event.target instanceof HTMLInputElement && event.target.matches("[data-send]")) {
      event.stopPropagation();
    }
  },
  true,
);
