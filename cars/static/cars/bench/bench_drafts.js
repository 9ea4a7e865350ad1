/* Text that is still being typed at the bench: one key a box in the browser's local storage, which has it at
   once and still has it when the page is gone. */

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

export class Drafts {
  constructor(user, sheet) {
    this.prefix = `bench:${user}:${sheet}:draft:`;
  }

  all() {
    const found = [];
    for (let n = 0; n < store.length; n += 1) {
      const key = store.key(n);
      if (!key?.startsWith(this.prefix)) continue;
      try { found.push(JSON.parse(store.getItem(key))); } catch { /* not ours */ }
    }
    return found;
  }

  of(box) {
    return this.all().find((draft) => draft.box === box);
  }

  put(draft) {
    try { store.setItem(this.prefix + draft.box, JSON.stringify(draft)); } catch { /* no room: it stays in its field */ }
  }

  drop(box) {
    store.removeItem(this.prefix + box);
  }
}
