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
