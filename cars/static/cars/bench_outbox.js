/* What was typed and is not yet known to be saved: kept on this phone, one key a reading, so that two
   tabs do not lose each other's. It holds boxes and what was typed in them, and nothing else. */

const held = new Map(); // where the browser keeps nothing for us
const store = (() => {
  try {
    localStorage.setItem("bench-try", "1");
    localStorage.removeItem("bench-try");
    return localStorage;
  } catch {
    return {
      get length() { return held.size; },
      key: (n) => [...held.keys()][n] ?? null,
      getItem: (key) => held.get(key) ?? null,
      setItem: (key, text) => held.set(key, text),
      removeItem: (key) => held.delete(key),
    };
  }
})();

export class Outbox {
  constructor(sheet, user) {
    this.prefix = `bench:${user}:${sheet}:`;
  }

  #all(sort) {
    const start = `${this.prefix}${sort}:`;
    const found = [];
    for (let n = 0; n < store.length; n += 1) {
      const key = store.key(n);
      if (key?.startsWith(start)) {
        try { found.push(JSON.parse(store.getItem(key))); } catch { /* not ours */ }
      }
    }
    return found;
  }

  /** All that wait, in the order they were typed. */
  items() {
    return this.#all("item").sort((a, b) => a.order - b.order);
  }

  /** What waits for one box. */
  of(box) {
    return this.items().filter((item) => item.box === box);
  }

  put(item) {
    store.setItem(`${this.prefix}item:${item.id}`, JSON.stringify(item));
  }

  drop(id) {
    store.removeItem(`${this.prefix}item:${id}`);
  }

  /** Text that is still being typed. */
  drafts() {
    return this.#all("draft");
  }

  draft(box) {
    return this.drafts().find((draft) => draft.box === box);
  }

  putDraft(draft) {
    store.setItem(`${this.prefix}draft:${draft.box}`, JSON.stringify(draft));
  }

  dropDraft(box) {
    store.removeItem(`${this.prefix}draft:${box}`);
  }

  /** Everything of this sheet and this person. */
  clear() {
    const keys = [];
    for (let n = 0; n < store.length; n += 1) keys.push(store.key(n));
    for (const key of keys) if (key.startsWith(this.prefix)) store.removeItem(key);
  }

  get isEmpty() {
    return !this.items().length && !this.drafts().length;
  }
}
