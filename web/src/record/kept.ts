// Where unsent events are kept: IndexedDB, which survives reload, sleep and a closed page; where a browser
// has none (some private windows), memory.
import type { Event } from './event';

export interface Item {
  n: number; // the order of telling
  room: string; // which room it was told to; '' when that was not known yet
  event: Event;
  what: string; // in words, for the reader
  batch?: string; // items of one batch are sent in one request: recorded all or none
  photo?: ArrayBuffer; // bytes that go out before the event
  refused?: string; // why the server refused it: it waits for the reader then
}

const NAME = 'fernlock';
const STORE = 'unsent';
let base: Promise<IDBDatabase | undefined> | undefined;
const memory: Item[] = [];
let lastInMemory = 0;

function open(): Promise<IDBDatabase | undefined> {
  base ??= new Promise((resolve) => {
    try {
      const request = indexedDB.open(NAME, 1);
      request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: 'n', autoIncrement: true });
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => resolve(undefined);
      request.onblocked = () => resolve(undefined);
    } catch {
      resolve(undefined);
    }
  });
  return base;
}

/** Runs `ask` in a transaction and gives its result when the transaction is complete. */
async function run<T>(db: IDBDatabase, mode: IDBTransactionMode, ask: (store: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(STORE, mode);
    const request = ask(transaction.objectStore(STORE));
    transaction.oncomplete = () => resolve(request.result);
    transaction.onabort = () => reject(transaction.error ?? new Error('not kept'));
  });
}

/** Keeps them all or none, in this order; resolves when they are on the disk. */
export async function keep(items: Omit<Item, 'n'>[]): Promise<void> {
  const db = await open();
  if (!db) {
    for (const item of items) memory.push({ ...item, n: ++lastInMemory });
    return;
  }
  await run(db, 'readwrite', (store) => {
    const requests = items.map((item) => store.add(item));
    return requests[requests.length - 1] as IDBRequest<IDBValidKey>;
  });
}

/** All of them, in the order of telling. */
export async function kept(): Promise<Item[]> {
  const db = await open();
  return db ? run(db, 'readonly', (store) => store.getAll() as IDBRequest<Item[]>) : [...memory];
}

export async function change(item: Item): Promise<void> {
  const db = await open();
  if (db) {
    await run(db, 'readwrite', (store) => store.put(item));
    return;
  }
  const at = memory.findIndex((one) => one.n === item.n);
  if (at >= 0) memory[at] = item;
}

export async function remove(n: number): Promise<void> {
  const db = await open();
  if (db) {
    await run(db, 'readwrite', (store) => store.delete(n));
    return;
  }
  const at = memory.findIndex((one) => one.n === n);
  if (at >= 0) memory.splice(at, 1);
}
