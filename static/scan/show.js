// Draws what the page shows. It decides nothing: each function gets what is to
// be shown and what a tap leads to.
import {say, clock} from './words.js';
import {did, bad} from './did.js';

export const $ = id => document.getElementById(id);

// el makes an element; what begins with "on" is what a tap does.
export function el(name, props = {}, ...inside) {
  const e = document.createElement(name);
  for (const [key, value] of Object.entries(props)) {
    if (key.startsWith('on')) e.addEventListener(key.slice(2), value);
    else if (value === true) e.setAttribute(key, '');
    else if (value !== false && value != null) e.setAttribute(key, value);
  }
  e.append(...inside.filter(i => i != null && i !== ''));
  return e;
}

export const line = (text, kind) => text ? el('p', {class: kind}, text) : '';

// button is something to press, with its large words and what they mean.
export function button(words, about, kind, tap) {
  return el('button', {type: 'button', class: kind, onclick: tap}, el('b', {}, words), about ? el('span', {}, about) : '');
}

// put shows what a scan led to: the card, and below it, at the thumb, what can
// be pressed.
export function put(card, buttons) {
  $('card').replaceChildren(...card.filter(Boolean));
  $('card').hidden = !card.length;
  $('act').replaceChildren(...buttons.filter(Boolean));
  if (card.length) $('card').scrollIntoView({block: buttons.some(Boolean) ? 'start' : 'nearest'}); // name and count above the buttons
}

// piece is the head of a card; of a frame whose dry fit is gathered, bench is
// what lies there so far.
export function piece(look, bench = []) {
  const cart = look.kind === 'cart', empty = cart && !look.count;
  const running = look.until && look.shape === 'waiting' ? ' ' + say('until', {time: look.until}) + (look.then ? say('then_setting', {time: look.then}) : '') : '';
  const stands = !look.stands || cart ? '' : say('stands_' + look.stands) + running;
  return [
    el('p', {class: 'kind'}, say(look.kind || 'part'), ' · ', el('b', {class: 'mark'}, look.mark)),
    el('h2', {}, cart ? `${look.name}: ${empty ? say('nothing_on_it') : say('on_it', {n: look.count})}` : (look.counts ? look.count + ' × ' : '') + look.name),
    line(look.size, 'size'),
    stands && el('p', {class: 'tag ' + look.shape}, stands),
    line(look.why), look.inside && line(say('inside', {name: look.inside})), look.newer && line(say('newer', {mark: look.newer})),
    ...(look.kit || []).map(k => kit(k, bench)),
  ];
}

// kit is what a frame takes of one line: what there is of it, and once a fit is
// gathered how many lie on the bench.
function kit(k, bench) {
  const here = bench.filter(p => p.line === k.name).length;
  if (bench.length) return line(say('kit_bench', {name: k.name, n: here, need: k.need}), here < k.need ? '' : 'size');
  return line(say('kit_stock', {name: k.name, n: k.ready, need: k.need}), k.ready < k.need ? 'short' : '');
}

// count is how many, with a large key on each side.
export function count(most, due, each) {
  const field = el('input', {type: 'number', id: 'count', inputmode: 'numeric', min: 1, max: most, value: due, 'aria-label': say('how_many')});
  const by = step => () => { field.value = Math.min(most, Math.max(1, (parseInt(field.value, 10) || 0) + step)); };
  return el('div', {class: 'count'},
    el('button', {type: 'button', 'aria-label': say('less'), onclick: by(-1)}, '−'), field,
    el('button', {type: 'button', 'aria-label': say('more'), onclick: by(1)}, '+'),
    el('span', {}, each > 1 ? say('blanks_of', {n: each}) : say('of', {n: most})));
}

// counted is what the count stands at.
export const counted = () => Math.max(1, parseInt($('count')?.value, 10) || 1);

// more leads to the piece's own page, for what goes wrong.
export const more = mark => el('a', {class: 'more', href: '/P/' + mark}, say('open_page'));

// result is what was recorded, and how far its line is.
export function result(a, deed) {
  return [
    el('h2', {class: bad(deed) ? '' : 'good'}, (a.count > 1 ? a.count + ' × ' : '') + [did(deed, a), a.name].filter(Boolean).join(', ')),
    deed.override && el('p', {class: 'note'}, say(deed.early ? 'was_early' : 'was_anyway', {reason: reason(deed.reason)})),
    a.tally && el('p', {class: 'tally'}, tally(a.tally)),
    a.new && el('p', {class: 'say'}, say('new_mark', {mark: a.new})),
    a.next && line(say(a.from ? 'next_from' : 'next', {name: a.next, time: a.from})),
    a.filled?.length && line(say('filled_did', {list: a.filled.join(', ')}), 'note'),
    a.behind && line(say('behind', {n: a.behind}), 'note'),
    a.clock_off && line(say('clock_off', {text: a.clock_off}), 'note'),
    a.label && line(say('label_at', {text: a.label})),
    a.labels && deed.do !== 'relabel' && el('p', {}, el('a', {class: 'more', href: '/labels'}, say('labels_wait', {n: a.labels}))),
    deed.do === 'relabel' && el('p', {}, el('a', {class: 'more', href: '/labels'}, say('label_waits'))),
    ...(a.doubts || []).map(doubt => line(doubt, 'note')),
  ];
}

// tally is how far a line is, in a sentence.
export function tally(t) {
  const rest = [t.here ? say('tally_here', {n: t.here}) : '', ...t.away.map(g => say('tally_away', {n: g.count, where: wherever(g.where)}))];
  return (t.setup ? t.setup + ': ' : '') + [say('tally', {done: t.done, n: t.of}), ...rest.filter(Boolean)].join('; ');
}

// wherever is a place, or a state in this language's words.
function wherever(where) {
  const word = say('stands_' + where);
  return word.startsWith('stands_') ? where : word;
}

// problem is a refusal with the one thing to do.
export const problem = (what, act) => [el('p', {class: 'say'}, what), line(act, 'do')];

// reason is a ready-made reason in the language of the page. What is recorded
// stays what the server said.
export function reason(text) {
  const words = say('reason_' + text);
  return words.startsWith('reason_') ? text : words;
}

// setups are what wants this station, as long as nothing was scanned.
export function setups(shop) {
  $('setups').replaceChildren(...(shop?.setups || []).map(u => el('li', {},
    el('b', {}, u.step + (u.size ? ': ' + u.size : '')),
    el('span', {}, [u.ready && say('setup_now', {n: u.ready}), ...coming(u.coming)].filter(Boolean).join(', ')))));
}

// coming says how many are still where: those of several lines together.
function coming(groups) {
  const at = new Map();
  for (const g of groups) at.set(g.where, (at.get(g.where) || 0) + g.count);
  return [...at].map(([where, n]) => say('setup_later_at', {n, where: wherever(where)}));
}

// queue lists what waits to be sent, each with the tap that takes it back.
export function queue(list, takeBack) {
  $('queue-list').replaceChildren(...list.map(d => el('li', {}, el('p', {}, el('b', {}, clock(d.at || Date.now())), ' ', (d.do === 'undo' ? say('undone') + ': ' : '') + (d.label || d.mark || '')),
    d.do === 'undo' ? '' : button(say('take_back'), '', 'quiet', () => takeBack(d)))));
}

// unsettled lists what the server refused later, each with the tap that settles
// it: record it all the same where a person may judge, open it, or let it be.
export function unsettled(list, open, drop, anyway) {
  $('settle').hidden = !list.length;
  $('settle-list').replaceChildren(...list.map(d => el('li', {},
    el('p', {}, el('b', {class: 'mark'}, d.mark || ''), d.label && d.label !== d.mark ? ' ' + d.label : '', ' · ', say('settle_at', {time: clock(d.at)})),
    ...problem(d.answer.say || '', d.answer.do),
    d.answer.outcome === 'parked' ? button(say('late_record'), say('late_record_about'), 'main', () => anyway(d)) :
      d.answer.overrule ? button(say('record_anyway'), reason(d.answer.overrule), 'early', () => anyway(d)) : '',
    el('div', {class: 'pair'},
      button(say('settle_open'), '', '', () => open(d)),
      button(say('settle_done'), '', 'quiet', () => drop(d))))));
}
