/* One page of this device at a time does what it does under a name. */

import { LEASES, transact } from "./database.js";
import { newId } from "./ids.js";

const HOLDS = 15000; // of a page that was closed at work
const RENEWED = 5000;
const LOOKED_FOR = 200;

/** Runs `act` when no other page is at something of this name, and gives what it returned. */
export function alone(name, act) {
  return navigator.locks ? navigator.locks.request(name, act) : withLease(name, act);
}

/** The browser's locks are not there over plain HTTP: a lease in the database then does their work. */
async function withLease(name, act) {
  const by = newId();
  try {
    while (!(await take(name, by))) await new Promise((resolve) => { setTimeout(resolve, LOOKED_FOR); });
  } catch {
    return act(); // no database: pages share nothing
  }
  const renewing = setInterval(() => take(name, by).catch(() => {}), RENEWED);
  try {
    return await act();
  } finally {
    clearInterval(renewing);
    await give(name, by);
  }
}

async function take(name, by) {
  const found = await transact(LEASES, "readwrite", (store) => {
    const answer = { taken: false };
    const asked = store.get(name);
    asked.onsuccess = () => {
      const now = Date.now();
      const held = asked.result;
      // One that ends later than any can was taken before the clock was set back.
      if (held && held.by !== by && held.until > now && held.until <= now + HOLDS) return;
      store.put({ name, by, until: now + HOLDS });
      answer.taken = true;
    };
    return answer;
  });
  return found.taken;
}

function give(name, by) {
  return transact(LEASES, "readwrite", (store) => {
    const asked = store.get(name);
    asked.onsuccess = () => { if (asked.result?.by === by) store.delete(name); };
  }).catch(() => {}); // it runs out by itself
}
