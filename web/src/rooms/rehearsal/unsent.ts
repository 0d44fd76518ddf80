/** Recordings that the server does not have yet, kept in the browser's own database. */

const [DATABASE, STORE] = ["overarm.rehearsal", "unsent"];

function opened(): Promise<IDBDatabase> {
  return new Promise((done, failed) => {
    const request = indexedDB.open(DATABASE, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE);
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
}

async function asked<T>(mode: IDBTransactionMode, act: (store: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const database = await opened();
  try {
    return await new Promise<T>((done, failed) => {
      const transaction = database.transaction(STORE, mode);
      const request = act(transaction.objectStore(STORE));
      // What was written is there when the transaction is complete: it may still find no room after the request has ended.
      transaction.oncomplete = () => done(request.result);
      transaction.onabort = () => failed(transaction.error);
    });
  } finally {
    database.close();
  }
}

export const keep = (key: string, csv: string): Promise<unknown> => asked("readwrite", (store) => store.put(csv, key));
export const find = (key: string): Promise<string | undefined> => asked<string | undefined>("readonly", (store) => store.get(key));
export const drop = (key: string): Promise<unknown> => asked("readwrite", (store) => store.delete(key));
