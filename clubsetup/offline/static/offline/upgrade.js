/* What earlier releases left waiting on this device is taken over: the bench's readings from the browser's
   local storage, the desk's records from a database of their own. It may go when no device that is in use
   can hold any. */

import { ITEMS, transact } from "./database.js";
import { alone } from "./locks.js";

const READING = /^bench:([^:]+):([^:]+):item:/;
const DESK = "desk";
const RECORDS = "records";

/** Copies it under the same ids, and deletes it where it was once the copy is on the disk. A page that is
    closed in between leaves both, and the next one sees by the id that the copy is there. */
export function takeOver() {
  return alone("outbox:take-over", async () => {
    await takeOverReadings();
    await takeOverRecords();
  });
}

/** What is there already stays: it may have changed since it was copied. */
function copy(items) {
  return transact(ITEMS, "readwrite", (store) => {
    for (const item of items) {
      const asked = store.getKey(item.id);
      asked.onsuccess = () => { if (asked.result === undefined) store.put(item); };
    }
  });
}

/* The bench's readings: one key each */

async function takeOverReadings() {
  const found = earlierReadings();
  if (!found.length) return;
  await copy(found.map(([, , item]) => item));
  for (const [key, text] of found) if (localStorage.getItem(key) === text) localStorage.removeItem(key);
}

function earlierReadings() {
  let keys;
  try {
    keys = Object.keys(localStorage).filter((key) => READING.test(key));
  } catch {
    return []; // no storage, so nothing in it
  }
  const found = [];
  for (const key of keys) {
    const text = localStorage.getItem(key);
    try {
      const [, user, sheet] = READING.exec(key);
      found.push([key, text, fromReading(JSON.parse(text), user, sheet)]);
    } catch {
      // Not written by us.
    }
  }
  return found;
}

function fromReading(was, user, sheet) {
  const { id, box, text, seen, again, name, step, at, order } = was;
  const refused = (status, says) => (says ? { id, box, status, says } : null);
  const answer = was.conflict ?? refused("wrong", was.wrong) ?? refused("refused", was.refused);
  const state = { tried: Boolean(was.tried), waited: true, answer };
  const address = `/sheets/${sheet}/bench/${step.slug}/save`;
  const body = { box, text, seen, again };
  return { id, user, kind: "reading", place: sheet, address, body, label: { name, step }, at, order, state };
}

/* The desk's records: one row each */

async function takeOverRecords() {
  const database = await openEarlier();
  if (!database) return;
  try {
    const store = (mode) => database.transaction(RECORDS, mode).objectStore(RECORDS);
    const found = await done(store("readonly").getAll());
    if (!found.length) return;
    await copy(found.map(fromRecord));
    // The empty database stays: a page of the earlier release may be open, and write there once more.
    const work = store("readwrite");
    await Promise.all(found.map(({ id }) => done(work.delete(id))));
  } finally {
    database.close();
  }
}

function openEarlier() {
  return new Promise((resolve) => {
    const asked = indexedDB.open(DESK);
    asked.onupgradeneeded = () => asked.transaction.abort(); // it was never made: do not make it
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => resolve(null);
  });
}

function done(asked) {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

function fromRecord(was) {
  const { id, viewer, action, page, fields, title, words, at } = was;
  const answer = was.refused ? { status: "refused", says: was.refused } : null;
  const state = { tried: Boolean(was.waited), waited: Boolean(was.waited), answer };
  const label = { title, words };
  return { id, user: viewer, kind: "form", place: page, address: action, body: { fields }, label, at, order: at, state };
}
