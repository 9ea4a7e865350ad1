/* What the desk keeps on this device until the server has it: one record a form that was sent, with
   its photo, in the browser's own database. */

const STORE = "records";

function opened() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open("desk", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "id" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("held by another page"));
  });
}

async function done(mode, act) {
  const database = await opened();
  try {
    return await new Promise((resolve, reject) => {
      const work = database.transaction(STORE, mode);
      const asked = act(work.objectStore(STORE));
      work.oncomplete = () => resolve(asked.result);
      work.onabort = () => reject(work.error);
    });
  } finally {
    database.close();
  }
}

/** Everybody's records on this device, in the order they were made. */
export async function all() {
  const found = await done("readonly", (store) => store.getAll());
  return found.sort((a, b) => a.at - b.at || (a.id < b.id ? -1 : 1));
}

export function put(record) {
  return done("readwrite", (store) => store.put(record));
}

export function drop(id) {
  return done("readwrite", (store) => store.delete(id));
}

/** A time-ordered id (RFC 9562 version 7), so that sending twice makes one record. */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let time = Date.now();
  for (let n = 5; n >= 0; n -= 1) {
    bytes[n] = time % 256;
    time = Math.floor(time / 256);
  }
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
