// What waits on the phone, and what the shop did not take when it arrived: both
// are lists that a person can open, and each row has the tap that settles it.
import {say} from './words.js';
import {$} from './show.js';
import * as box from './box.js';
import * as deeds from './deeds.js';
import * as show from './show.js';
import * as signal from './signal.js';

// page is what the lists lead to: record, open a mark, again, and forgotten for
// a deed that was taken back.
let page;

// start says what the page does, and shows the lists.
export function start(does) {
  page = does;
  $('waiting').onclick = () => openQueue($('queue').hidden);
  $('unsettled').onclick = () => $('settle').scrollIntoView();
  settle();
  box.count().then(left);
}

// left shows how many wait.
export async function left(n) {
  $('waiting').textContent = say('waiting', {n});
  $('waiting').hidden = !n;
  if (!n) openQueue(false);
  else if (!$('queue').hidden) show.queue(await box.waiting(), takeBack);
}

// openQueue shows what waits, or hides it.
async function openQueue(open) {
  $('waiting').setAttribute('aria-expanded', String(open));
  if (open) show.queue(await box.waiting(), takeBack);
  $('queue').hidden = !open;
  if (open) $('queue').scrollIntoView({block: 'nearest'});
}

// settle shows what has to be settled.
export async function settle() {
  const list = await box.unsettled();
  $('unsettled').textContent = say('unsettled', {n: list.length});
  $('unsettled').hidden = !list.length;
  show.unsettled(list, page.open, dropped, settleAnyway);
}

// dropped lets a refused deed be. One that is parked leaves the shop's list too.
async function dropped(d) {
  await box.settled(d.id);
  if (d.answer.outcome === 'parked') await page.record({do: 'late-drop', command: d.id, mark: d.mark}, d.label);
  settle();
}

// settleAnyway records what a person says is right all the same, at its own
// time; what came too late, as of now.
async function settleAnyway(d) {
  await box.settled(d.id);
  settle();
  if (d.answer.outcome === 'parked') return page.record({do: 'late-record', command: d.id, mark: d.mark}, d.label);
  return page.record({...deeds.whatOf(d), at: d.at, override: true, reason: d.answer.overrule}, d.label);
}

// takeBack takes back a deed that waits on the phone.
export async function takeBack(deed) {
  const {gone} = await deeds.undo(deed);
  page.forgotten(deed);
  signal.show(gone ? 'seen' : 'kept', say('undone'), deed.label || deed.mark);
  page.again();
  left(await box.count());
}
