// What waits in this browser until the page has answered for it: photos and notes, in IndexedDB, which needs no secure
// context. A record is { id, lawn, lawnName, name } and { file, point, day }, with { walk: true, taken } for a photo of the
// sand, or { note }: the lawn, since another one may answer here tomorrow; the name, for the list of what waits.
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

export const keep = (record) => within("readwrite", (store) => store.put(record));
export const drop = (id) => within("readwrite", (store) => store.delete(id));
export const isKept = async (id) => (await within("readonly", (store) => store.count(id))) > 0;
export const allKept = () => within("readonly", (store) => store.getAll());

const two = (n) => String(n).padStart(2, "0");
export const today = () => { const d = new Date(); return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`; };

// A note that the page keeps once, however often it is sent: { key, kind, values }. `about` names what a later note replaces.
export function newNote(kind, values, about = "") {
  const key = [...crypto.getRandomValues(new Uint8Array(16))].map((n) => n.toString(16).padStart(2, "0")).join("");
  const written = Object.entries(values).filter(([, value]) => value !== "" && value !== null && value !== undefined);
  return { key, kind, about, values: Object.fromEntries(written.map(([name, value]) => [name, String(value)])) };
}

// Hand a note or a photo of the sand to what sends (intake.js); `answered` hears { state }: added, known, refused or lost.
export const send = (detail) => window.dispatchEvent(new CustomEvent("sm-send", { detail }));
export const tell = (text, more = {}) => window.dispatchEvent(new CustomEvent("sm-told", { detail: { text, ...more } }));

// "2 photos and 1 note wait in this browser."
export function counted(words, records, forms = words) {
  const notes = records.filter((one) => one.note).length, photos = records.length - notes;
  const say = ([one, many], count) => count === 1 ? one : many.replace("{count}", count);
  const what = [photos && say(words.photos, photos), notes && say(words.notes, notes)].filter(Boolean).join(words.and);
  return (records.length === 1 ? forms.one : forms.many).replace("{what}", what);
}
