/* The outbox: what a person entered on this device waits here until the server has it. Every page has the
   same one, reads it from memory, and sends from it when no other page does. An item has
     id       made here; the server makes one row of it, however often it is sent
     user     who made it: it goes off in no other name
     kind     what it is, as the page that sends it calls it
     place    where it belongs: a sheet, a page
     address  where it is sent
     body     what is sent
     label    what people read of it while it waits
     at       when it was made, by the device's clock; `order` rises with every one that a page makes
     state    tried: it went off, and the answer may be lost; waited: it could not go off at once;
              answer: why the server did not take it, until its person decides; else null */

import { ITEMS, transact } from "./database.js";
import { newId } from "./ids.js";
import { alone } from "./locks.js";
import { takeOver } from "./upgrade.js";

export class Outbox {
  #items = new Map(); // the person's own, as they stand or are being written
  #unwritten = new Map(); // for which the browser had no room
  #changes = 0;
  #writing = new Set();
  #listeners = [];
  #others = new Map(); // of other people, how many of each kind wait; never what
  #channel = globalThis.BroadcastChannel ? new BroadcastChannel("outbox") : null;
  #order = 0;
  #inMemory;

  /** `inMemory`: goes on without a database, in the memory of this page. */
  constructor(user, inMemory) {
    this.user = user;
    this.#inMemory = inMemory;
    this.#channel?.addEventListener("message", () => this.#look());
  }

  /** The outbox of a person, with what an earlier release left there. */
  static async open(user, { inMemory = false } = {}) {
    const outbox = new Outbox(user, inMemory);
    try {
      await takeOver();
    } catch {
      // It stays as it was, and the next page tries again.
    }
    try {
      await outbox.refresh();
    } catch (problem) {
      if (!inMemory) throw problem;
    }
    return outbox;
  }

  /** What waits, in the order it was made: all of it, of a kind, or of a kind at a place. */
  items(kind, place) {
    return [...this.#items.values()]
      .filter((item) => (!kind || item.kind === kind) && (!place || item.place === place))
      .sort((a, b) => a.order - b.order || (a.id < b.id ? -1 : 1));
  }

  /** How many of a kind wait of other people. */
  others(kind) {
    return this.#others.get(kind) ?? 0;
  }

  get(id) {
    return this.#items.get(id);
  }

  /** A new item, which is not kept yet. */
  make({ id = newId(), kind, place, address, body, label }) {
    const at = Date.now();
    this.#order = Math.max(this.#order + 0.001, at);
    const state = { tried: false, waited: false, answer: null };
    return { id, user: this.user, kind, place, address, body, label, at, order: this.#order, state };
  }

  /** Keeps an item, in place of others if they are named; done when it is on the disk. */
  async put(item, { instead = [] } = {}) {
    const were = instead.map((id) => this.#items.get(id)).filter(Boolean);
    const was = this.#items.get(item.id);
    this.#remember([item], instead);
    try {
      await this.#write([item], instead);
    } catch (problem) {
      if (this.#inMemory) this.#unwritten.set(item.id, item); // the ones it replaces stay on the disk
      else this.#remember([...were, ...(was ? [was] : [])], was ? [] : [item.id]);
      throw problem;
    }
  }

  /** Keeps items with another state. */
  async change(items, state) {
    const changed = items.map((item) => ({ ...item, state: { ...item.state, ...state } }));
    this.#remember(changed, []);
    await this.#rewrite(changed, []);
  }

  async drop(...ids) {
    this.#remember([], ids);
    await this.#rewrite([], ids);
  }

  /** Calls back when another page has changed what waits. */
  onChange(listener) {
    this.#listeners.push(listener);
  }

  /** Reads anew what waits. */
  async refresh() {
    let before;
    let found;
    do { // what is written meanwhile is newer than what was read
      await Promise.allSettled(this.#writing);
      before = this.#changes;
      found = await transact(ITEMS, "readonly", (store) => this.#read(store.index("owner")));
    } while (before !== this.#changes);
    this.#items = new Map(found.own.result.map((item) => [item.id, item]));
    for (const [id, item] of this.#unwritten) this.#items.set(id, item);
    this.#others = found.others;
  }

  /** Runs `act` while no other page of this person is at the same, on what waits by then. */
  alone(what, act) {
    return alone(`outbox:${this.user}:${what}`, async () => {
      await this.refresh().catch(() => {}); // no database: memory has all there is
      return act();
    });
  }

  #read(index) {
    const own = index.getAll(IDBKeyRange.bound([this.user], [this.user, []]));
    const others = new Map();
    const keys = index.openKeyCursor(); // the keys alone: what other people entered is not read
    keys.onsuccess = () => {
      if (!keys.result) return;
      const [user, kind] = keys.result.key;
      if (user !== this.user) others.set(kind, (others.get(kind) ?? 0) + 1);
      keys.result.continue();
    };
    return { own, others };
  }

  #remember(items, gone) {
    this.#changes += 1;
    for (const id of gone) this.#items.delete(id);
    for (const item of items) this.#items.set(item.id, item);
    for (const id of [...gone, ...items.map((item) => item.id)]) this.#unwritten.delete(id);
  }

  async #write(items, gone) {
    const work = transact(ITEMS, "readwrite", (store) => {
      for (const item of items) store.put(item);
      for (const id of gone) store.delete(id);
    });
    this.#writing.add(work);
    try {
      await work;
    } finally {
      this.#writing.delete(work);
    }
    this.#channel?.postMessage("changed");
  }

  async #rewrite(items, gone) {
    try {
      await this.#write(items, gone);
    } catch (problem) {
      if (!this.#inMemory) throw problem;
    }
  }

  async #look() {
    try {
      await this.refresh();
    } catch {
      return; // the database is away: memory is the better witness
    }
    for (const listener of this.#listeners) listener();
  }
}
