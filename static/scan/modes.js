// The four ways to work with the page: step by step, onto a cart, dry fit, and
// clamps on. Each says what a read mark leads to.
import {say} from './words.js';
import * as show from './show.js';
import {shop, nameOf, look as lookAt} from './shop.js';
import * as signal from './signal.js';
import {doors} from './wrong.js';
import * as alarm from './alarm.js';

// fit and load are what was gathered so far.
export const fit = {frame: null, parts: []};
export const load = {cart: null};

// clear forgets what was gathered.
export function clear() {
  Object.assign(fit, {frame: null, parts: []});
  load.cart = null;
}

// offered gives the buttons for what can be recorded of a piece, the best
// first: only that one is large.
export function offered(look, record) {
  if (look.unseen) {
    return [show.button(look.step || say('record'), say('record_unseen'), 'main', () => record({do: 'scan', mark: look.mark, station: shop.station?.key, single: true}, called(look, look.step)))];
  }
  const held = look.wrong?.held && !look.counts;
  return [held && show.button(say('release'), look.wrong.held, 'main', () => record({do: 'release', mark: look.mark, station: shop.station?.key}, look.name)),
    ...steps(look, record, alarm.why(look, shop.station)), clampsOff(look, record)];
}

// clampsOff is the tap that says that the clamps are off: an option, since the
// next step says it too. Without a picture of the frame the server judges it.
function clampsOff(look, record) {
  const deed = {do: 'clamps-off', mark: look.mark, station: shop.station?.key};
  const at = look.clamps, label = called(look, say('clamps_off'));
  if (!at) return '';
  if (!at.overrule) return show.button(say('clamps_off'), say('tap_off'), 'quiet', () => record(deed, label));
  return show.button(say('clamps_off'), `${show.reason(at.overrule)}, ${say('early', {time: at.until})}`, 'early', () => record({...deed, override: true, early: true, reason: at.overrule}, label));
}

// called is what is done to which piece, for whoever reads it before the answer.
const called = (look, step, n = 1) => [step, (n > 1 ? n + ' × ' : '') + look.name].filter(Boolean).join(', ');

// steps are what can be recorded; of what cannot be done here now none is large.
function steps(look, record, stop) {
  const known = o => called(look, o.name, look.counts ? show.counted() * (o.blanks || 1) : 1);
  return look.offers.flatMap((o, i) => [
    ...pot(o),
    !i && o.check ? show.button(say('is_good'), say('first_piece', {text: o.check}), 'check', () => record({do: 'check', mark: look.mark, step: o.step, station: o.station}, look.name)) : '',
    o.overrule
      ? show.button(`${show.reason(o.overrule)}: ${o.name}`, say('early', {time: o.until}), 'early', () => record({...asked(look, o), override: true, early: true, reason: o.overrule}, known(o)))
      : show.button(o.name, say('tap_done', {place: o.place}), i || stop || o.stops ? 'quiet' : 'main', () => record(asked(look, o), known(o))),
  ]);
}

// pot is what a coat comes out of, and what would be said against it: before
// the brush is wet.
function pot(o) {
  return [
    ...o.warn ? show.problem(o.warn, o.warn_do) : [],
    o.batch && show.line(o.sets ? say('batch_sets', {n: o.batch, time: o.sets}) : say('batch', {n: o.batch})),
  ];
}

// asked is the deed of an offer, with the count that stands on the page.
function asked(look, o) {
  const deed = {do: 'scan', mark: look.mark, station: o.station, step: o.step};
  if (look.counts) deed[o.blanks > 1 ? 'blanks' : 'count'] = show.counted();
  return deed;
}

// pieceCard shows a piece with what can be recorded of it, and the ways to say
// that something is off.
export function pieceCard(look, page) {
  const {record} = page;
  const stop = alarm.why(look, shop.station);
  if (stop) signal.warn();
  const o = look.offers[0];
  const each = o?.blanks || 1;
  const count = look.counts && o ? show.count(Math.ceil(o.most / each), Math.ceil(o.due / each), each) : '';
  const filled = o?.filled.length ? say('filled', {list: o.filled.join(', ')}) : '';
  const none = !o && !look.unseen && (look.kind !== 'cart' || look.count) && !stop ? say('nothing') : '';
  show.put([stop && alarm.sign(stop), ...show.piece(look), filled && show.el('p', {class: 'note'}, filled),
    none && show.el('p', {class: 'say'}, none)], [count, ...offered(look, record), doors(look, page)]);
}

// fitRead gathers a dry fit: the frame first, then what lies on the bench.
export async function fitRead(mark, record) {
  if (fit.frame && mark !== fit.frame.mark) return onBench(mark, record);
  const frame = await frameOf(mark);
  if (!frame) return;
  Object.assign(fit, {frame, parts: []});
  signal.hint();
  fitCard(record);
}

// onBench adds what can go into the frame beside what lies there already; the
// list stays when it cannot.
async function onBench(mark, record) {
  const there = () => fit.parts.some(p => p.mark === mark);
  if (!there()) {
    const {look, answer} = await lookAt(mark, fit.frame.mark, fit.parts.map(p => p.mark));
    if (answer) {
      signal.show('bad', say('goes_not_in'), mark, answer.say, answer.do);
      return fitCard(record);
    }
    if (!there()) fit.parts.push({mark, name: look.name, line: look.line});
  }
  const part = fit.parts.find(p => p.mark === mark);
  signal.show('seen', String(fit.parts.length), part.name === mark ? mark : `${part.name} · ${mark}`);
  fitCard(record);
}

// fitCard shows what was gathered, below what there is to say of it.
export function fitCard(record, notes = []) {
  if (!fit.frame) return show.put([show.el('p', {class: 'say'}, say('fit_frame'))], []);
  const list = fit.parts.map(({mark, name}) => show.el('li', {}, show.el('button', {type: 'button', 'aria-label': `${name === mark ? mark : `${name} ${mark}`}: ${say('drop', {mark})}`, onclick: () => {
    fit.parts = fit.parts.filter(p => p.mark !== mark);
    fitCard(record);
  }}, name === mark ? '' : show.el('span', {}, name), ' ', mark + ' ✕')));
  const words = fit.parts.length ? say('fitted_n', {n: fit.parts.length}) : say('fitted');
  show.put([...notes, ...show.piece(fit.frame, fit.parts), show.el('p', {class: 'say'}, say('fit_parts')), show.el('ul', {class: 'bench'}, ...list)],
    [show.button(words, say('tap_fit'), 'main', () => record({do: 'fit', mark: fit.frame.mark, station: shop.station?.key, parts: fit.parts.length ? fit.parts.map(p => p.mark) : null}, fit.frame.name))]);
}

// frameOf looks at the mark of a frame; null, and a refusal shown, for what is
// none. Without a network the server is left to judge.
async function frameOf(mark) {
  const {look, answer, away} = await lookAt(mark);
  if (answer) signal.show('bad', say('not_yet'), mark, answer.say, answer.do);
  else if (!away && look.kind !== 'assembly') signal.show('bad', say('no_frame'), mark, say('no_frame_say', {name: look.name}), say('no_frame_do'));
  else return look;
  return null;
}

// clampsRead: one reading of a frame, and the clamps are on.
export async function clampsRead(mark, record, hands) {
  const deed = {do: 'clamps', mark, station: shop.station?.key};
  if (hands) return record(deed, mark);
  const frame = await frameOf(mark);
  if (!frame) return;
  signal.hint();
  const on = show.button(say('clamps_on'), say('tap_clamps'), frame.clamps ? 'quiet' : 'main', () => record({...deed, mark: frame.mark}, frame.name));
  const off = clampsOff(frame.unseen ? {...frame, clamps: {}} : frame, record);
  show.put(show.piece(frame), frame.clamps ? [off, on] : [on, off]);
}

// loadRead: the cart first; from then on a reading puts the piece on it. Only of
// a ticket a person is asked how many.
export async function loadRead(mark, record, ask = false) {
  const known = load.cart && mark !== load.cart.mark;
  if (known && !ask) return record({do: 'load', mark, cart: load.cart.mark, single: true}, nameOf(mark)?.name || mark);
  const {look, answer, away} = await lookAt(mark);
  if (answer) return signal.show('bad', say('not_yet'), mark, answer.say, answer.do);
  if (known && look.kind !== 'cart') {
    signal.hint();
    return loadCard(look, record);
  }
  if (look.kind !== 'cart' && !away) return signal.show('bad', say('no_cart'), mark, say('no_cart_say', {name: look.name}), say('no_cart_do'));
  load.cart = look;
  signal.hint();
  loadCard(null, record);
}

// loadCard shows the cart, or a piece that may be put on it.
export function loadCard(look, record, notes = []) {
  const cart = load.cart;
  if (!cart) return show.put([show.el('p', {class: 'say'}, say('load_cart'))], []);
  const other = show.button(say('load_other'), '', 'quiet', () => { load.cart = null; loadCard(null, record); });
  if (!look) return show.put([...notes, ...show.piece(cart), show.el('p', {class: 'say'}, say('load_parts', {name: cart.name}))], [other]);
  const deed = () => ({do: 'load', mark: look.mark, cart: cart.mark, ...look.counts && {count: show.counted()}});
  show.put(show.piece(look), [look.counts ? show.count(look.count, look.count) : '',
    show.button(say('load_on', {name: cart.name}), '', 'main', () => record(deed(), look.name)), other]);
}

// loadAgain counts again what lies on the cart, after it was changed; by is how
// many came when nobody can be asked.
export async function loadAgain(record, by = 0) {
  if (!load.cart) return loadCard(null, record);
  const {look, away} = await lookAt(load.cart.mark);
  if (look && !away) load.cart = look;
  else load.cart = {...load.cart, count: (load.cart.count || 0) + by};
  loadCard(null, record);
}
