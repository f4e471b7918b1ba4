// The box on the phone: what was scanned and not yet told to the server, what
// the server refused later, and what is known of marks for when it is away.
// Nothing leaves the box before the server has answered.

const stores = {queue: {keyPath: 'n', autoIncrement: true}, unsettled: {keyPath: 'id'}, known: {keyPath: 'mark'}};

let opened;

function open() {
  opened ||= new Promise((resolve, reject) => {
    const asked = indexedDB.open('benchtally-scan', 1);
    asked.onupgradeneeded = () => {
      for (const name in stores) asked.result.createObjectStore(name, stores[name]);
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

// within runs one transaction and gives what its last request led to, once it
// is on the disk.
async function within(name, mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const t = db.transaction(name, mode);
    const kept = {};
    work(t.objectStore(name), kept);
    t.oncomplete = () => resolve(kept.request ? kept.request.result : kept.value);
    t.onabort = t.onerror = () => reject(t.error);
  });
}

const read = (name, ask) => within(name, 'readonly', (store, kept) => { kept.request = ask(store); });
const write = (name, ask) => within(name, 'readwrite', (store, kept) => { kept.request = ask(store); });

// add puts a deed at the end of the queue and gives its number.
export const add = deed => write('queue', s => s.add(deed));
export const waiting = () => read('queue', s => s.getAll());
export const count = () => read('queue', s => s.count());

// change alters a deed that is still there, and says whether it was: one that
// has left the queue must not come back.
export function change(n, alter) {
  return within('queue', 'readwrite', (store, kept) => {
    kept.value = false;
    const asked = store.get(n);
    asked.onsuccess = () => {
      if (!asked.result) return;
      kept.value = true;
      store.put(Object.assign(asked.result, alter));
    };
  });
}

// takeBack removes a deed that was never sent, and says whether it could.
export function takeBack(id) {
  return within('queue', 'readwrite', (store, kept) => {
    kept.value = false;
    const asked = store.openCursor();
    asked.onsuccess = () => {
      const at = asked.result;
      if (!at) return;
      if (at.value.id === id && !at.value.tries) {
        kept.value = true;
        at.delete();
      } else {
        at.continue();
      }
    };
  });
}

// finish takes an answered deed out of the queue and says whether a person was
// told that it is kept. One that was, and needs a person now, goes on the list
// of what has to be settled, in the same stroke.
export async function finish(deed, answer, needed) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const t = db.transaction(['queue', 'unsettled'], 'readwrite');
    const asked = t.objectStore('queue').get(deed.n);
    let told = false;
    asked.onsuccess = () => {
      told = !!asked.result?.told;
      if (told && needed) t.objectStore('unsettled').put({...deed, answer});
      t.objectStore('queue').delete(deed.n);
    };
    t.oncomplete = () => resolve(told);
    t.onabort = t.onerror = () => reject(t.error);
  });
}
export const unsettled = () => read('unsettled', s => s.getAll());
export const settled = id => write('unsettled', s => s.delete(id));

export const know = look => write('known', s => s.put(look));
export const known = mark => read('known', s => s.get(mark));
