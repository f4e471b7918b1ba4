// The page for the people on the floor: joins what was read to what is done.
import {say, clock} from './words.js';
import {readCode} from './mark.js';
import {$} from './show.js';
import {shop} from './shop.js';
import * as box from './box.js';
import * as deeds from './deeds.js';
import * as mine from './mine.js';
import * as modes from './modes.js';
import * as picture from './shop.js';
import * as show from './show.js';
import * as signal from './signal.js';
import * as waits from './waits.js';
import * as ways from './ways.js';
import {did, bad} from './did.js';
import {doors} from './wrong.js';

const same = 3_000;       // ms in which the same label is one reading
const memory = 4 * 3600_000; // ms that a piece counts as recorded here

const page = {mode: 'work', hands: localStorage.getItem('scan-hands') === '1', last: null, here: new Map(), lastText: '', lastSeen: 0, began: 0, turn: 0};

// ---- what was read

// took takes a text from any of the ways in.
async function took(text, how, began = performance.now()) {
  ways.waitForReading();
  let found = readCode(text);
  if (found.why && how === 'typed') found = picture.named(text, [...$('place').options].filter(o => o.value)) || found;
  const key = found.mark || found.place || text;
  const now = performance.now();
  const again = key === page.lastText && now - page.lastSeen < same && (how === 'camera' || how === 'keys');
  page.lastText = key;
  if (!again || how === 'camera') page.lastSeen = now; // a label that stays in view stays one reading
  if (again) return;
  page.began = began;
  page.turn++;
  if (found.why) {
    signal.show('bad', say(found.why), found.text, say(found.why + '_say', found), say(found.why + '_do', found));
  } else if (found.place) {
    await place(found.place);
  } else if (found.person) {
    await person(found.person);
  } else {
    await read(found.mark);
  }
}

// read takes a mark, as the way to work says.
async function read(mark) {
  switch (page.mode) {
    case 'fit': return modes.fitRead(mark, record);
    case 'clamps': return modes.clampsRead(mark, record, page.hands);
    case 'load': return modes.loadRead(mark, record);
  }
  const waits = await waiting(mark);
  if (waits) return keptAlready(waits);
  if (!page.hands) return look(mark);
  if (!shop.station) return signal.show('bad', say('where'), mark, say('where_say'), say('where_do'));
  const deed = {do: 'scan', mark, station: shop.station.key, single: true};
  if (recordedHere(mark)) return counted(deed);
  return record(deed, named(mark));
}

// named is a mark with its name and what comes next here, as far as the phone
// knows that.
const named = mark => {
  const n = picture.nameOf(mark);
  return [n?.station === shop.station?.key && n?.step, [n?.name, mark].filter(Boolean).join(' ')].filter(Boolean).join(', ');
};

// waiting is the scan of this piece that lies on the phone already: a second
// one would record its next step as well.
const waiting = async mark => (await box.waiting()).find(d => d.told && d.do === 'scan' && d.mark === mark && d.station === shop.station?.key && !d.count && !d.blanks);

function keptAlready(deed) {
  signal.show('kept', say('kept_already'), deed.label || deed.mark, say('kept_say'));
  show.put([show.el('h2', {}, deed.label || deed.mark), show.el('p', {class: 'say'}, say('kept_already'))], [show.button(say('take_back'), '', 'quiet', () => waits.takeBack(deed))]);
}

// look shows a mark with what can be recorded of it.
async function look(mark) {
  const turn = page.turn;
  const got = await picture.look(mark);
  if (page.turn !== turn) return; // something was read since, and has the screen
  if (got.answer) return signal.show('bad', say('not_yet'), mark, got.answer.say, got.answer.do);
  signal.hint();
  modes.pieceCard(got.look, acts);
}

// acts are what a card may lead to.
const acts = {record: (...what) => record(...what), piece: got => modes.pieceCard(got, acts)};

// afterwards are the same ways on once something was recorded of a mark: what
// is known of it is asked for when one is taken.
function afterwards(mark) {
  if (page.mode !== 'work') return '';
  const then = n => async () => {
    const got = await picture.look(mark);
    if (got.answer) return signal.show('bad', say('not_yet'), mark, got.answer.say, got.answer.do);
    doors(got.look, acts).children?.[n]?.click();
  };
  return show.el('div', {class: 'pair'}, show.button(say('off'), '', 'off', then(0)), show.button(say('elsewhere'), '', '', then(1)));
}

// recordedHere reports whether this phone recorded a piece at this station
// already: without it, a pile that is turned over would be counted twice.
function recordedHere(mark) {
  const now = Date.now();
  for (const [key, at] of page.here) if (now - at > memory) page.here.delete(key);
  return page.here.has(mark + ' ' + shop.station?.key);
}

function counted(deed) {
  signal.show('seen', say('counted'), deed.mark);
  show.put([show.el('h2', {}, deed.mark), show.el('p', {class: 'say'}, say('counted_say')), show.more(deed.mark)],
    [show.button(say('again'), '', 'quiet', () => record(deed, deed.mark)), afterwards(deed.mark)]);
}

async function person(number) {
  const known = await picture.setWho(number);
  if (known) signal.show('seen', shop.who || say('nobody'), say(number ? 'who_now' : 'who_none'), shop.fresh ? '' : say('place_kept'));
  else signal.show('bad', say('no_person'), '', shop.refusal?.say || say('no_person_say'), shop.refusal?.do || say('no_person_do'));
}

async function place(key) {
  const row = [...$('place').options].find(o => o.value === key);
  const known = await picture.setPlace(key, row && {key, name: row.text, caution: ''});
  page.here.clear();
  if (known) signal.show('seen', say('place'), shop.station?.name || '', shop.fresh ? '' : say('place_kept'));
  else signal.show('bad', say('no_place'), key, say('no_place_say', {text: key}), say('where_do'));
}

// ---- what is recorded

// record keeps a deed, sends it, and shows what came of it.
async function record(what, label) {
  const key = what.mark + ' ' + shop.station?.key;
  if (what.do === 'scan' && what.single) page.here.set(key, Date.now()); // before the next picture is read
  if (page.mode === 'work') show.put([], []);
  const began = page.began;
  const {deed, answer, status, why} = await deeds.record(what, label);
  measured(began);
  if (answer && status >= 400) page.here.delete(key);
  if (what.do !== 'check' && what.do !== 'late-drop' && !(answer && status >= 400)) lastIs(deed, answer);
  if (!answer) return kept(deed, why);
  shown(deed, answer, status);
  picture.refresh();
}

// measured notes how long an answer took from its picture on, for those who
// look into the browser's tools. A day of scans does not pile up.
function measured(began) {
  if (performance.getEntriesByName('answered').length > 999) performance.clearMeasures('answered');
  performance.measure('answered', {start: began});
}

function kept(deed, why) {
  signal.show('kept', say('kept'), deed.label || deed.mark, why ? say('kept_why', {why}) : say('kept_say'));
  again(1);
}

// shown shows an answer.
function shown(deed, a, status) {
  if (status >= 400) return refused(deed, a);
  if (a.outcome === 'parked') return signal.show('bad', say('late'), deed.mark, a.say, a.do);
  if (a.outcome === 'already') {
    signal.show('seen', say('already'), deed.label || deed.mark, a.say);
    if (page.mode === 'load') return again();
    return show.put([...show.problem(a.say, a.do), show.more(deed.mark)], []);
  }
  const about = [did(deed, a), a.name].filter(Boolean).join(', ');
  if (a.outcome === 'settled') return signal.show('seen', say('settled'), deed.label || deed.mark);
  if (bad(deed)) signal.show('seen', did(deed, a), a.name);
  else signal.show('good', a.count > 1 ? say('done_many', {n: a.count}) : say('done'), about, a.tally ? show.tally(a.tally) : '');
  if (deed.do === 'fit') modes.clear();
  if (deed.do === 'check') return look(deed.mark);
  if (page.mode !== 'work') return again();
  show.put(show.result(a, deed), [a.check && show.button(say('was_good'), say('first_piece', {text: a.check}), 'check',
    () => record({do: 'check', mark: a.mark, step: a.check_step, station: deed.station}, a.name)), a.new ? '' : afterwards(a.mark)]);
}

// refused shows why not, and the one tap that overrules it where a person may
// judge. A ticket that was read without a touch only lacks its count.
function refused(deed, a) {
  if (a.code === 'count-wanted') return deed.do === 'load' ? modes.loadRead(deed.mark, record, true) : look(deed.mark);
  signal.show('bad', say('not_yet'), deed.label || deed.mark, a.say, a.do);
  const anyway = a.overrule && (() => { signal.hide(); record({...deeds.whatOf(deed), override: true, early: a.code === 'waiting', reason: a.overrule}, deed.label); });
  if (anyway) {
    const key = $('signal-anyway');
    key.textContent = `${say('record_anyway')}: ${show.reason(a.overrule)}`;
    key.onclick = anyway;
    key.hidden = false;
    signal.leave(say('leave'));
  }
  if (page.mode === 'load') return modes.loadCard(null, record, show.problem(a.say, a.do));
  if (page.mode === 'fit') return modes.fitCard(record, [...show.problem(a.say, a.do), anyway && show.button(say('record_anyway'), show.reason(a.overrule), 'early', anyway)]);
  show.put([...show.problem(a.say, a.do), show.more(deed.mark)],
    [anyway && show.button(say('record_anyway'), show.reason(a.overrule), 'early', anyway)]);
}

// later takes answers that nobody waited for.
async function later(deed, answer, status) {
  if (page.last?.deed.id === deed.id && status < 400) lastIs(deed, answer);
  if (status >= 400 && page.last?.deed.id === deed.id) lastIs(null);
  if (status >= 400) page.here.delete(deed.mark + ' ' + deed.station);
  if (!shop.fresh) picture.refresh();
  waits.settle();
}

// lastIs keeps the last scan in view, with its undo.
function lastIs(deed, answer) {
  page.last = deed && {deed, answer};
  localStorage.setItem('scan-last', JSON.stringify(deed && {deed: {...deed, picture: !!deed.picture}, answer}));
  const what = deed && [answer?.count > 1 ? answer.count + ' ×' : '', answer ? did(deed, answer) : '', answer?.name || deed.label || deed.mark].filter(Boolean).join(' ');
  const far = answer?.tally ? say('tally', {done: answer.tally.done, n: answer.tally.of}) : '';
  $('last-text').replaceChildren(deed ? `${clock(deed.at || Date.now())} ${what}${answer ? '' : ', ' + say('kept_short')}` : say('last_none'), far && show.el('b', {}, far));
  $('undo').hidden = !deed || deed.do === 'undo';
}

async function undo() {
  const last = page.last;
  if (!last) return;
  $('undo').hidden = true;
  const {gone, deed, answer, status} = await deeds.undo(last.deed);
  if (answer && status >= 400) {
    $('undo').hidden = false;
    return refused(deed, answer);
  }
  page.here.delete(last.deed.mark + ' ' + last.deed.station);
  signal.show(gone || answer ? 'seen' : 'kept', say('undone'), last.answer?.name || last.deed.mark);
  lastIs(null);
  again();
  picture.refresh();
  waits.left(await box.count());
}

// forgotten is a deed that was taken back before it was sent.
function forgotten(deed) {
  page.here.delete(deed.mark + ' ' + deed.station);
  if (page.last?.deed.id === deed.id) lastIs(null);
}

// again shows what the way to work asks for next.
function again(came = 0) {
  if (page.mode === 'fit') modes.fitCard(record);
  else if (page.mode === 'load') modes.loadAgain(record, came);
  else if (page.mode === 'clamps') show.put([show.el('p', {class: 'say'}, say('clamps_frame'))], []);
  else show.put([], []);
}

// ---- how the page works

function setMode(mode) {
  page.mode = mode;
  modes.clear();
  for (const b of document.querySelectorAll('#modes button')) b.setAttribute('aria-pressed', String(b.value === mode));
  again();
}

function setHands(on) {
  page.hands = on;
  localStorage.setItem('scan-hands', on ? '1' : '0');
  $('hands').setAttribute('aria-pressed', String(on));
}

// ---- the beginning

function begin() {
  ways.start(took);
  setHands(page.hands);
  setMode('work');
  const last = JSON.parse(localStorage.getItem('scan-last') || 'null');
  if (last?.deed.at && Date.now() - Date.parse(last.deed.at) < memory) lastIs(last.deed, last.answer);
  else lastIs(null);
  mine.start(person);
  $('hands').onclick = () => setHands(!page.hands);
  $('undo').onclick = undo;
  $('signal-on').onclick = signal.hide;
  $('place').onchange = e => place(e.target.value);
  for (const b of document.querySelectorAll('#modes button')) b.onclick = () => setMode(b.value);
  picture.start(mine.draw);
  deeds.start(later, waits.left);
  waits.start({record, again, forgotten, open: d => { setMode('work'); look(d.mark); scrollTo(0, 0); }});
  navigator.serviceWorker?.register('/sw.js', {scope: '/'}).catch(() => {});
  document.documentElement.dataset.ready = '1';
}

begin();
