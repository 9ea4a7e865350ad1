/* A form as an item that waits, and an item put back into its form. */

import { newId } from "./ids.js";
import { KIND } from "./send_forms.js";

function labelOf(field) {
  return (field.labels?.[0]?.textContent ?? field.name).replace(/\s+/g, " ").trim();
}

/** What a person reads in the list: what they typed, field by field. */
function wordsOf(form) {
  const parts = [];
  for (const field of form.elements) {
    if (!field.name || field.type === "hidden" || field.type === "submit" || !field.value) continue;
    if (/^(?:checkbox|radio)$/.test(field.type) && !field.checked) continue;
    const group = field.type === "radio" && field.closest("fieldset")?.querySelector("legend")?.textContent.trim();
    const text = field.tagName === "SELECT" ? field.selectedOptions[0].textContent : field.value;
    if (field.type === "checkbox") parts.push(labelOf(field));
    else if (field.type === "file") parts.push("with a photo");
    else parts.push(group ? `${group} ${labelOf(field)}` : `${labelOf(field)} ${text}`);
  }
  return parts.join("; ");
}

function addressOf(form) {
  return new URL(form.getAttribute("action") || location.href, location.href).pathname;
}

/** What the outbox makes an item of. */
export function contentOf(form) {
  return {
    id: form.elements.row_id.value,
    kind: KIND,
    place: form.dataset.outboxPage ?? location.pathname + location.search,
    address: addressOf(form),
    body: { fields: [...new FormData(form)].filter(([name]) => name !== "csrfmiddlewaretoken") },
    label: { title: form.dataset.outbox, words: wordsOf(form) },
  };
}

/** The form is free for the next record. */
export function renew(form) {
  form.reset();
  form.elements.row_id.value = newId();
}

/** Puts a refused item back into its form, where the page has that; it is replaced when the form is sent. */
export function takeUp(item) {
  const form = [...document.forms].find((one) => one.dataset.outbox && addressOf(one) === item.address);
  if (!form) return;
  form.closest("details")?.setAttribute("open", "");
  const values = new Map(item.body.fields.filter(([, value]) => typeof value === "string"));
  for (const field of form.elements) {
    if (/^(?:checkbox|radio)$/.test(field.type)) field.checked = values.get(field.name) === field.value;
    else if (values.has(field.name) && field.type !== "hidden") field.value = values.get(field.name);
  }
  form.elements.row_id.value = newId();
  form.dataset.mends = item.id;
  [...form.elements].find((field) => field.checkVisibility() && field.name)?.focus();
}
