// Records deeds: each goes into the box first and is then sent. A person gets
// the answer when it comes at once, and else that it is kept.
import * as box from './box.js';
import * as post from './post.js';

const patience = 1500; // ms until a person is told that it is kept

const asked = new Map(); // by id: who waits for the answer
let who = '';

// by says who uses this phone.
export const by = name => { who = name; };

// start begins to send; later is told of answers that nobody waits for, and
// left of how many deeds are still here.
export function start(later, left) {
  post.start((what, deed, answer, status) => {
    if (what === 'left') return left(deed);
    const waiter = asked.get(deed.id);
    if (what === 'failed') {
      for (const w of asked.values()) w.failed({why: answer}); // the line is down for all of them
    } else if (waiter && !deed.told) {
      waiter.answered({answer, status});
    } else {
      later(deed, answer, status);
    }
    count(left);
  });
}

const count = async left => left(await box.count());

// record keeps a deed and gives {deed, answer, status}, without an answer when
// it has to wait; why is then what the server said, if it said anything.
export async function record(what, label = '') {
  const deed = {id: post.newID(), at: new Date().toISOString(), label};
  for (const [key, value] of Object.entries({...what, by: who})) if (value) deed[key] = value;
  if (deed.command) delete deed.at; // what is said of another deed is meant now, whenever it arrives
  const late = new Promise(resolve => setTimeout(resolve, patience, {}));
  let failed;
  const lost = new Promise(resolve => { failed = resolve; });
  const answered = new Promise(resolve => asked.set(deed.id, {answered: resolve, failed}));
  deed.n = await box.add(deed);
  post.now();
  let got = await Promise.race([answered, lost, late]);
  if (!got.answer && !await box.change(deed.n, {told: true})) got = await answered; // it came this very moment
  asked.delete(deed.id);
  return {deed, ...got};
}

// undo takes a deed back, on the phone while it was never sent. It gives what
// record gives, or {gone: true}.
export async function undo(deed) {
  if (await box.takeBack(deed.id)) return {gone: true};
  return record({do: 'undo', command: deed.id, mark: deed.mark}, deed.label);
}

// whatOf is what a deed is about, without what the phone noted of it.
export function whatOf(deed) {
  const {id, n, at, by, label, early, tries, told, answer, ...what} = deed;
  return what;
}
