/* From step to step without a line: the other steps' pages, as they stand now. */

import { replacePart } from "./bench_boxes.js";

async function fetched(path) {
  const response = await fetch(path, { credentials: "same-origin" });
  if (response.redirected || !response.ok) throw new Error("not a step");
  return response.text();
}

export class Steps {
  /** `page` is told `begin()` when another step stands there, and `lost()` where it cannot. */
  constructor(boxes, page) {
    this.boxes = boxes;
    this.page = page;
    this.pages = new Map([[location.pathname, document.documentElement.outerHTML]]);
    this.news = new Map(); // what was said of each step's boxes and parts since
    this.timer = 0;
    addEventListener("popstate", () => this.go(location.href, false));
  }

  /** Opens another step in the place of this one. */
  async go(href, push) {
    const path = new URL(href, location.href).pathname;
    this.#settle();
    try {
      if (!this.pages.has(path)) this.pages.set(path, await fetched(path));
    } catch {
      this.page.lost();
      return;
    }
    const made = new DOMParser().parseFromString(this.pages.get(path), "text/html");
    const next = made.getElementById("bench");
    if (!next) {
      location.assign(path);
      return;
    }
    next.dataset.version = "";
    this.boxes.root().replaceWith(document.adoptNode(next));
    document.title = made.title;
    if (push) history.pushState(null, "", path);
    scrollTo(0, 0);
    this.page.begin();
    this.boxes.root().querySelector("h1").focus();
    this.page.line.soon();
  }

  /** Fetched once, one after the other, so that the next step opens at once and without a line. */
  async ahead() {
    for (const link of [...document.querySelectorAll(".bench-strip a")]) {
      const path = new URL(link.href).pathname;
      if (this.pages.has(path)) continue;
      try {
        this.pages.set(path, await fetched(path));
      } catch {
        return;
      }
    }
  }

  /** What stands in boxes and parts of a step now goes into its page, for when it is opened again. */
  stands(slug, boxes, parts = {}) {
    const path = this.page.url.replace(/[^/]+\/$/, `${slug}/`);
    const news = this.news.get(path) ?? { boxes: new Map(), parts: new Map() };
    for (const box of boxes) news.boxes.set(box.name, box);
    for (const [id, html] of Object.entries(parts)) news.parts.set(id, html);
    this.news.set(path, news);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#settle(), 1000);
  }

  #settle() {
    clearTimeout(this.timer);
    for (const [path, news] of this.news) {
      if (!this.pages.has(path)) continue;
      this.pages.set(path, written(this.pages.get(path), news));
    }
    this.news.clear();
  }
}

/** The page's text with the news in it, and without what only concerned the moment. */
function written(html, { boxes, parts }) {
  const made = new DOMParser().parseFromString(html, "text/html");
  for (const each of made.querySelectorAll("#content > [role=status]")) each.remove();
  for (const field of made.querySelectorAll("[data-bench]")) {
    const box = boxes.get(field.name);
    if (!box) continue;
    field.dataset.seen = box.seen;
    field.dataset.stood = box.text;
    if (field.type === "checkbox") field.toggleAttribute("checked", Boolean(box.text));
    else field.setAttribute("value", box.text);
  }
  for (const [id, part] of parts) {
    const place = made.getElementById(id);
    if (place) replacePart(place, part);
  }
  return `<!doctype html>\n${made.documentElement.outerHTML}`;
}
