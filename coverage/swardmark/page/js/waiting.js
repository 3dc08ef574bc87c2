// Photos that wait in this browser until the page has answered for them: in IndexedDB, which needs no secure context.
// A record is { id, lawn, lawnName, file, name, point, day }: the lawn, since another one may answer here tomorrow.
const BASE = "swardmark", STORE = "waiting";
let opening = null;

function open() {
  opening ||= new Promise((done, fail) => {
    const ask = indexedDB.open(BASE, 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore(STORE, { keyPath: "id", autoIncrement: true });
    ask.onsuccess = () => done(ask.result);
    ask.onerror = () => { opening = null; fail(ask.error); };
  });
  return opening;
}

async function within(mode, act) {
  const base = await open();
  return new Promise((done, fail) => {
    const whole = base.transaction(STORE, mode, { durability: "strict" }), ask = act(whole.objectStore(STORE));
    whole.oncomplete = () => done(ask.result);
    whole.onabort = () => fail(whole.error);
  });
}

export const keepPhoto = (record) => within("readwrite", (store) => store.put(record));
export const dropPhoto = (id) => within("readwrite", (store) => store.delete(id));
export const isKept = async (id) => (await within("readonly", (store) => store.count(id))) > 0;
export const keptPhotos = () => within("readonly", (store) => store.getAll());
