// What this tablet keeps in the browser's IndexedDB, as promises.
//
// Two databases: `charting-tablet` for the device (its id, its sequence, who works on it, what was handed over) and
// `charting-<user>` for one person's work, deleted when that person leaves. A promise here is fulfilled when the
// transaction is complete; operations are written with durability "strict", so that they survive the power going. A disk
// that does not answer is taken for one that refuses: sending waits for no transaction that hangs.

const TABLET = "charting-tablet";
const TABLET_STORES = { kv: undefined, handover: "id" };
const PATIENCE_MS = 5000;
const USER_STORES = { operations: "id", sessions: "key", history: "session", day: undefined, pictures: "key" };

function connect(name, stores, version = 1) {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(name, version);
    request.onupgradeneeded = () => {
      for (const [store, keyPath] of Object.entries(stores)) {
        if (!request.result.objectStoreNames.contains(store)) {
          request.result.createObjectStore(store, keyPath ? { keyPath } : {});
        }
      }
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new DOMException("Another tab holds the database.", "AbortError"));
  });
}

// What comes too late is done all the same, in its order; by then it changes nothing, as an act that is sent twice.
function inTime(promise, patience) {
  let timer;
  const late = new Promise((_resolve, reject) => {
    timer = setTimeout(reject, patience, new DOMException("The disk does not answer.", "TimeoutError"));
  });
  return Promise.race([promise, late]).finally(() => clearTimeout(timer));
}

// Opened when first asked, and again after the browser has closed it.
class Database {
  constructor(name, stores) {
    Object.assign(this, { name, stores, connection: null, patience: PATIENCE_MS });
  }

  async open() {
    this.connection ??= connect(this.name, this.stores).then((db) => {
      db.onversionchange = () => this.close();
      db.onclose = () => (this.connection = null);
      return db;
    });
    try {
      return await this.connection;
    } catch (error) {
      this.connection = null;
      throw error;
    }
  }

  async close() {
    const open = this.connection;
    this.connection = null;
    (await open?.catch(() => null))?.close();
  }

  // `work(...stores)` makes its requests at once or from their answers; what it returns is read after completion.
  async transact(mode, names, work) {
    const db = await inTime(this.open(), this.patience);
    const done = new Promise((resolve, reject) => {
      const transaction = db.transaction(names, mode, { durability: "strict" });
      let read = () => undefined;
      transaction.oncomplete = () => resolve(read());
      transaction.onabort = () => reject(transaction.error ?? new DOMException("Given up.", "AbortError"));
      try {
        read = work(...names.map((name) => transaction.objectStore(name))) ?? read;
      } catch (error) {
        reject(error);
        transaction.abort();
      }
    });
    return inTime(done, this.patience);
  }

  delete() {
    this.close();
    return new Promise((resolve, reject) => {
      const request = indexedDB.deleteDatabase(this.name);
      request.onsuccess = () => resolve();
      request.onerror = () => reject(request.error);
    });
  }
}

// What follows from an answer inside a transaction; a failure there gives the whole transaction up.
function then(request, work) {
  request.onsuccess = () => {
    try {
      work(request.result);
    } catch {
      request.transaction.abort();
    }
  };
}

const valueOf = (request) => () => request.result;

export class TabletStore extends Database {
  constructor() {
    super(TABLET, TABLET_STORES);
  }

  read(key) {
    return this.transact("readonly", ["kv"], (kv) => valueOf(kv.get(key)));
  }

  write(key, value) {
    return this.transact("readwrite", ["kv"], (kv) => {
      value === undefined ? kv.delete(key) : kv.put(value, key);
    });
  }

  // The value under a key, made by `make` for the first tab that asks.
  readOrMake(key, make) {
    return this.transact("readwrite", ["kv"], (kv) => {
      let value;
      then(kv.get(key), (kept) => {
        value = kept ?? make();
        kv.put(value, key);
      });
      return () => value;
    });
  }

  // The first of `count` numbers that no other tab gets; not below `wished`.
  allocate(count, wished) {
    return this.transact("readwrite", ["kv"], (kv) => {
      let first;
      then(kv.get("sequence"), (last = 0) => {
        first = Math.max(last + 1, wished);
        kv.put(first + count - 1, "sequence");
      });
      return () => first;
    });
  }

  handedOver() {
    return this.transact("readonly", ["handover"], (handover) => valueOf(handover.getAll()));
  }

  handOver(parcel) {
    return this.transact("readwrite", ["handover"], (handover) => {
      handover.put(parcel);
    });
  }

  forgetParcel(id) {
    return this.transact("readwrite", ["handover"], (handover) => {
      handover.delete(id);
    });
  }
}

export class UserStore extends Database {
  constructor(user) {
    super(`charting-${user}`, USER_STORES);
  }

  // Everything at once, as it stood at one moment.
  load() {
    const names = ["operations", "sessions", "history", "pictures", "day"];
    return this.transact("readonly", names, (...stores) => {
      const requests = stores.map((store) => store.getAll());
      return () => {
        const [operations, sessions, history, pictures, days] = requests.map(({ result }) => result);
        return { operations, sessions, history, pictures, day: days[0] ?? null };
      };
    });
  }

  // New records in, those they take the place of out.
  putOperations(records, gone = []) {
    return this.transact("readwrite", ["operations"], (operations) => {
      gone.forEach((id) => operations.delete(id));
      records.forEach((record) => operations.put(record));
    });
  }

  // What an answer settled: acknowledged operations leave in the transaction that brings the snapshots holding them.
  // `changed`: {id, base, state, message, conflict} of those that stay, with the base they were sent with.
  settle({ acknowledged, changed, snapshots, forgotten }) {
    return this.transact("readwrite", ["operations", "sessions"], (operations, sessions) => {
      acknowledged.forEach((id) => operations.delete(id));
      for (const { id, base, ...told } of changed) {
        // Not if another tab has settled it meanwhile, or has put it on top of something else.
        then(operations.get(id), (found) => found?.op.base === base && operations.put({ ...found, ...told }));
      }
      snapshots.forEach((snapshot) => sessions.put(snapshot));
      forgotten.forEach((key) => sessions.delete(key));
    });
  }

  putDay(day, snapshots, forgotten) {
    const names = ["day", "sessions", "history", "pictures"];
    return this.transact("readwrite", names, (days, sessions, history, pictures) => {
      days.put(day, "day");
      snapshots.forEach((snapshot) => sessions.put(snapshot));
      for (const key of forgotten) {
        sessions.delete(key);
        history.delete(key);
      }
      then(pictures.openCursor(), (cursor) => {
        if (cursor) {
          if (forgotten.includes(cursor.value.session) && cursor.value.state === "sent") {
            cursor.delete();
          }
          cursor.continue();
        }
      });
    });
  }

  putHistory(row) {
    return this.transact("readwrite", ["history"], (history) => {
      history.put(row);
    });
  }

  putPicture(picture) {
    return this.transact("readwrite", ["pictures"], (pictures) => {
      pictures.put(picture);
    });
  }
}
