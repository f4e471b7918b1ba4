// The post: sends what is in the box, in order, one at a time, and again until
// the server has answered. A deed keeps its id, so that sending it twice is
// one deed.
import * as box from './box.js';

const longest = 30_000; // between two tries
const patience = 8_000; // for one answer

let busy = false, wanted = false, pause = 0, timer = 0;
let tell = () => {};

// start says whom to tell: of each answer, of each try that failed, and of
// how many deeds are left.
export function start(listener) {
  tell = listener;
  addEventListener('online', now);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) now(); });
  now();
}

// now sends without waiting out the pause.
export function now() {
  clearTimeout(timer);
  pause = 0;
  send();
}

async function send() {
  wanted = true;
  if (busy) return;
  busy = true;
  try {
    while (wanted) {
      wanted = false;
      if (!await sendAll()) later();
    }
  } finally {
    busy = false;
  }
}

function later() {
  pause = Math.min(longest, pause ? pause * 2 : 1_000);
  clearTimeout(timer);
  timer = setTimeout(send, pause);
}

// sendAll reports whether everything was answered.
async function sendAll() {
  for (const deed of await box.waiting()) {
    if (!await box.change(deed.n, {tries: (deed.tries || 0) + 1})) continue; // taken back meanwhile
    const got = await ask(deed);
    if (!got?.answer) {
      tell('failed', deed, got?.why);
      return false;
    }
    pause = 0;
    await finish(deed, got);
  }
  tell('left', await box.count());
  return true;
}

// finish takes an answered deed out of the queue. What is refused after the
// person was told that it is kept goes on the list to settle.
async function finish(deed, got) {
  const needed = (got.status >= 400 || got.answer.outcome === 'parked') && !pointless(deed, got);
  const told = await box.finish(deed, got.answer, needed);
  tell('answered', {...deed, told}, got.answer, got.status);
}

// pointless is an undo of what never happened.
const pointless = (deed, got) => deed.do === 'undo' && got.status === 404;

// ask sends one deed; without an answer it has to be sent again, and why is what
// the server said of that, such as that its disk is full. Only our own answers
// count: a router's page that asks for a password is no answer.
async function ask(deed) {
  const {n, tries, told, label, early, picture, ...body} = deed;
  if (picture && (body.photo = await sendPicture(picture)) === null) return null;
  body.sent = new Date().toISOString(); // a wrong clock is noticed by it
  try {
    const res = await fetch('/scan/do', {method: 'POST', headers: {'Content-Type': 'application/json'},
      body: JSON.stringify(body), signal: limit(patience), cache: 'no-store'});
    if (res.status === 401) return signIn();
    if (res.status >= 500 || res.status === 408 || res.status === 429) return {why: (await res.json()).say};
    const answer = await res.json();
    return answer.outcome ? {answer, status: res.status} : null;
  } catch {
    return null;
  }
}

// sendPicture gives the name that a picture got, null when it has to be sent
// again. A deed counts without its picture, so one that is refused is left out.
async function sendPicture(picture) {
  try {
    const res = await fetch('/scan/photo', {method: 'POST', headers: {'Content-Type': 'image/jpeg'}, body: picture, signal: limit(patience * 4), cache: 'no-store'});
    if (res.status >= 500 || [401, 408, 429].includes(res.status)) return null;
    return (await res.json()).name || '';
  } catch {
    return null;
  }
}

// signIn lets a phone that was taken out join again. What it kept stays kept,
// and is sent when it is in.
export function signIn() {
  if (!document.hidden) location.assign('/sign-in?next=/scan');
  return null;
}

// limit ends a request that takes too long.
export function limit(ms) {
  const stop = new AbortController();
  setTimeout(() => stop.abort(), ms);
  return stop.signal;
}

// newID makes a UUID of version 7 (RFC 9562): crypto.randomUUID is missing
// where the page came over plain HTTP.
export function newID(now = Date.now()) {
  const b = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i++) b[i] = Math.floor(now / 2 ** (8 * (5 - i))) & 255;
  b[6] = b[6] & 15 | 0x70;
  b[8] = b[8] & 63 | 0x80;
  return Array.from(b, v => v.toString(16).padStart(2, '0')).join('').replace(/^(.{8})(.{4})(.{4})(.{4})/, '$1-$2-$3-$4-');
}
