// The phone's picture of the shop: where it is set to, and what wants that
// station. It is kept, so that the page says something without a network, and
// it says how old it is.
import * as box from './box.js';
import {limit, signIn} from './post.js';

const every = 20_000; // ms between two looks while the page is seen
const slow = 4_000;   // ms until a look counts as lost

const kept = JSON.parse(localStorage.getItem('scan-shop') || 'null');

// shop is the picture: station, setups, who, and what the phone may want to
// name without a network; at is when it was taken.
export const shop = {station: null, setups: [], who: '', people: [], carts: [], defects: [], at: 0, fresh: false, ...kept, asked: false};

let shown = () => {};

const slowly = 600_000; // ms between two looks at the names
let known = []; // the names of what is in the shop

// nameOf is what is known of a mark without a network: {mark, name, step,
// station}; of a part in a frame that of the frame.
export const nameOf = mark => known.find(n => n.mark === mark) || known.find(n => n.parts?.includes(mark));

async function names() {
  const got = await ask('/scan/names');
  if (!Array.isArray(got)) return;
  known = got;
  localStorage.setItem('scan-names', JSON.stringify(got));
}

// ask fetches JSON from the server; null when there is no answer of ours.
export async function ask(path, body) {
  try {
    const res = await fetch(path, {signal: limit(slow), cache: 'no-store',
      ...body && {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify(body)}});
    if (res.status === 401) return signIn();
    if (res.status >= 500 || !/json/.test(res.headers.get('Content-Type'))) return null;
    return await res.json();
  } catch {
    return null;
  }
}

function took(picture, at) {
  Object.assign(shop, {fresh: !!picture, asked: true}, picture && {...picture, at});
  if (picture) localStorage.setItem('scan-shop', JSON.stringify({...shop, fresh: false}));
  shown(shop);
}

// start keeps the picture up to date for as long as the page is seen.
export function start(show) {
  shown = show;
  shown(shop);
  setInterval(() => { if (!document.hidden) refresh(); }, every);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) refresh(); });
  addEventListener('online', refresh);
  known = JSON.parse(localStorage.getItem('scan-names') || '[]');
  setInterval(() => { if (!document.hidden) names(); }, slowly);
  names();
  return refresh();
}

// refresh takes a new picture. A station or a person that the server does not
// know of yet is told first.
export async function refresh() {
  const place = localStorage.getItem('scan-place'), who = localStorage.getItem('scan-who');
  if (who !== null) {
    await setWho(/^\d+$/.test(who) ? Number(who) : who);
    if (!shop.fresh) return; // still away
  }
  if (place !== null) return setPlace(place, shop.station);
  const picture = await ask('/scan/shop');
  took(picture?.setups ? picture : null, Date.now());
}

// setPlace sets the phone to a station. Without a network it holds on the
// phone, and the server is told later. It gives false for one that is unknown.
export async function setPlace(key, row) {
  const picture = await ask('/scan/place', {station: key});
  if (picture?.setups) {
    localStorage.removeItem('scan-place');
    took(picture, Date.now());
    return true;
  }
  if (picture || key && !row) { // it said no, or it is none of the list
    localStorage.removeItem('scan-place');
    return false;
  }
  localStorage.setItem('scan-place', key);
  Object.assign(shop, {station: row || null, setups: []});
  took(null);
  return true;
}

// whoIs reads who is meant: the number of a badge, with its secret half after a
// dash where it has one, or a name.
function whoIs(person) {
  const [, number, badge] = /^(\d+)-([0-9A-Z]{8})$/.exec(person) || [];
  if (badge) return {person: Number(number), badge};
  return !person ? {} : typeof person === 'string' ? {name: person} : {person};
}

// setWho says who uses the phone: a badge's number, a name, 0 for nobody. Without a network it holds on
// the phone, and the server is told later. It gives false for a badge of nobody.
export async function setWho(person) {
  const {badge, ...by} = whoIs(person);
  const picture = await ask('/scan/who', {badge, ...by});
  shop.refusal = picture?.setups ? null : picture;
  const who = by.name ? by : shop.people.find(p => p.person === by.person);
  if (picture?.setups) {
    localStorage.removeItem('scan-who');
    took(picture, Date.now());
    return true;
  }
  if (picture || person && !who) {
    localStorage.removeItem('scan-who');
    return false;
  }
  localStorage.setItem('scan-who', person);
  shop.who = who?.name || '';
  took(null);
  return true;
}

// named finds what a person calls by its name: a station, a cart, or somebody.
export function named(text, stations) {
  const same = name => (name || '').toLowerCase() === text.trim().toLowerCase();
  const place = stations.find(o => same(o.value) || same(o.text)), cart = shop.carts.find(c => same(c.name)), who = shop.people.find(p => same(p.name));
  return place ? {place: place.value} : cart ? {mark: cart.mark} : who ? {person: who.person} : null;
}

// look gives what is known of a mark: {look}, a refusal as {answer}, or what
// the phone knows by itself, with away set. With a frame and what lies on the
// bench it is a refusal as well when the piece cannot go in beside that.
export async function look(mark, frame = '', bench = []) {
  const query = new URLSearchParams({mark, station: shop.station?.key || '', into: frame});
  for (const other of bench) query.append('with', other);
  const got = await ask('/scan/look?' + query);
  if (got?.offers) {
    if (got.counts) await box.know({...got, mark}); // one piece needs no picture
    return {look: got};
  }
  if (got) return {answer: got};
  return {look: await box.known(mark) || listed(mark) || unseen(mark), away: true};
}

// unseen is a piece of which only the name is known, if that.
function unseen(mark) {
  const n = nameOf(mark), inside = n && n.mark !== mark ? mark : '';
  return {mark, name: n?.name || mark, inside, kind: n?.parts ? 'assembly' : 'part', step: n?.station === shop.station?.key ? n?.step : '', offers: [], unseen: true};
}

// listed finds a mark in the setups of the station.
function listed(mark) {
  for (const u of shop.setups) {
    const g = u.here.find(h => h.mark === mark);
    if (!g || g.count < 2) continue;
    const offer = {name: u.step, station: shop.station.key, place: shop.station.place || shop.station.name, here: true, due: g.count, most: g.count, filled: []};
    return {mark, name: g.name, kind: 'ticket', count: g.count, counts: true, offers: [offer]};
  }
  return null;
}
