/** Where the queue is kept over a crash: IndexedDB, else localStorage, else only this page's memory. */

const NAME = "ballbench";
const TABLE = "queue";
const PATIENCE_MS = 3000; // a database that is silent so long is not there (own choice)

/**
 * @typedef {object} Store
 * @property {"kept"|"memory"} safety memory: a crash of this page would lose what waits
 * @property {(test?: number) => Promise<import("./records.js").Entry[]>} all of one test, or of every test
 * @property {(gone: string[], put: import("./records.js").Entry[]) => Promise<void>} change both or neither
 */

/** Open the best storage that this browser gives. @param {number} [test] or every one @returns {Promise<Store>} */
export async function openStore(test) {
  const texts = textStore(localText());
  try {
    const store = databaseStore(await openDatabase());
    await moved(test, texts, store).catch(() => undefined);
    return store;
  } catch {
    return texts;
  }
}

/** Move what was kept as text while the database was silent; what the database has already is newer there. */
async function moved(test, texts, store) {
  const left = await texts.all(test);
  if (left.length === 0) {
    return;
  }
  const there = new Set((await store.all(test)).map((entry) => entry.key));
  await store.change([], left.filter((entry) => !there.has(entry.key)));
  await texts.change(left.map((entry) => entry.key), []);
}

/** @returns {Promise<IDBDatabase>} */
function openDatabase() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore(TABLE, { keyPath: "key" }).createIndex("test", "test");
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
    setTimeout(() => reject(new Error("the database does not answer")), PATIENCE_MS);
  });
}

/** @param {IDBDatabase} database @returns {Store} */
function databaseStore(database) {
  database.onversionchange = () => database.close();
  return {
    safety: "kept",
    all: (test) =>
      new Promise((resolve, reject) => {
        const request = database.transaction(TABLE).objectStore(TABLE).index("test").getAll(test);
        request.onsuccess = () => resolve(request.result);
        request.onerror = () => reject(request.error);
      }),
    change: (gone, put) =>
      new Promise((resolve, reject) => {
        const act = database.transaction(TABLE, "readwrite", { durability: "strict" });
        const table = act.objectStore(TABLE);
        gone.forEach((key) => table.delete(key));
        put.forEach((entry) => table.put(entry));
        act.oncomplete = () => resolve();
        act.onerror = () => reject(act.error);
        act.onabort = () => reject(act.error);
      }),
  };
}

/** Text that outlives the page, or null where the browser keeps none. @returns {?Storage} */
function localText() {
  try {
    localStorage.setItem(`${NAME}.probe`, "1");
    localStorage.removeItem(`${NAME}.probe`);
    return localStorage;
  } catch {
    return null;
  }
}

/**
 * One text an entry, in localStorage or in memory.
 * @param {?Storage} storage
 * @returns {Store}
 */
function textStore(storage) {
  const memory = new Map();
  const texts = storage ?? {
    setItem: (name, text) => memory.set(name, text),
    removeItem: (name) => memory.delete(name),
    getItem: (name) => memory.get(name) ?? null,
  };
  const names = () => (storage ? Object.keys(storage) : [...memory.keys()]);
  const start = `${NAME}.${TABLE}.`;
  return {
    safety: storage ? "kept" : "memory",
    async all(test) {
      const kept = names().filter((name) => name.startsWith(start));
      return kept.map((name) => JSON.parse(texts.getItem(name))).filter((entry) => test === undefined || entry.test === test);
    },
    async change(gone, put) {
      put.forEach((entry) => texts.setItem(start + entry.key, JSON.stringify(entry)));
      gone.forEach((key) => texts.removeItem(start + key));
    },
  };
}
