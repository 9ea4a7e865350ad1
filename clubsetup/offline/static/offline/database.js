/* The browser's own database of what waits on this device. */

export const ITEMS = "items"; // what waits
export const LEASES = "leases"; // which page is at work, where the browser has no locks

let connection = null;

function connect() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open("outbox", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore(ITEMS, { keyPath: "id" }).createIndex("owner", ["user", "kind"]);
      asked.result.createObjectStore(LEASES, { keyPath: "name" });
    };
    asked.onsuccess = () => {
      const database = asked.result;
      const end = () => { connection = null; };
      database.onclose = end;
      database.onversionchange = () => { // a page of a later release
        database.close();
        end();
      };
      resolve(database);
    };
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("held by a page of an earlier release"));
  });
}

function connected() {
  connection ??= connect().catch((problem) => {
    connection = null;
    throw problem;
  });
  return connection;
}

async function begin(store, mode) {
  const database = await connected();
  try {
    return database.transaction(store, mode, { durability: "strict" });
  } catch (problem) {
    if (problem.name !== "InvalidStateError") throw problem;
    connection = null; // the browser closed it meanwhile
    return (await connected()).transaction(store, mode, { durability: "strict" });
  }
}

/** Runs `act(store)` in one transaction and gives what it returned once that is on the disk. */
export async function transact(store, mode, act) {
  const work = await begin(store, mode);
  return new Promise((resolve, reject) => {
    const found = act(work.objectStore(store));
    work.oncomplete = () => resolve(found);
    work.onabort = () => reject(work.error ?? new Error("broken off"));
  });
}
