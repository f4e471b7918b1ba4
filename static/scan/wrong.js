// Something is off, in three taps: that it is, what it is, and where it is or
// what is done about it. The same for what goes to another place: a cart, the
// queue of labels. Everything goes into the box like a scan.
import {say} from './words.js';
import * as show from './show.js';
import {shop} from './shop.js';
import {places} from './where.js';
import {smaller} from './photo.js';

const {el, button} = show;
const deed = (what, look) => ({do: what, mark: look.mark, station: shop.station?.key});
const head = (look, words) => [el('p', {class: 'kind'}, look.name, ' · ', el('b', {class: 'mark'}, look.mark)), el('h2', {}, words)];
const tiles = (...list) => el('div', {class: 'tiles'}, ...list.filter(Boolean));

// doors are the two ways on from a piece: what is wrong, and where it goes.
export function doors(look, page) {
  if (look.kind === 'cart') {
    return look.count ? button(say('cart_empty'), '', 'quiet', () => page.record(deed('load', look), look.name)) : '';
  }
  return el('div', {class: 'pair'},
    button(say('off'), '', 'off', () => off(look, page)),
    button(say(look.counts ? 'elsewhere_ticket' : 'elsewhere'), '', '', () => elsewhere(look, page)));
}

// off asks what it is.
function off(look, page) {
  const wrong = look.wrong || {defects: shop.defects || [], spares: [], piles: [], coats: []};
  const {record} = page;
  if (wrong.gone) return show.put([...head(look, say('off')), el('p', {class: 'say'}, say('off_gone'))], [show.more(look.mark), back(look, page)]);
  const list = [
    wrong.held && button(say('release'), wrong.held, 'main', () => record(deed('release', look), look.name)),
    wrong.doubt && button(say('looked_good'), '', 'main', () => record(deed('clear', look), look.name)),
    wrong.piles.length && button(say('lost'), say('lost_about'), '', () => lost(look, page)),
    ...(look.counts ? [] : wrong.defects).map(d => button(d.again === 'bore' && !d.remake ? `${d.name}: ${say('plugged_it')}` : d.name, d.remake ? say('no_repair') : d.repair, '', () => d.remake ? spoiled(look, page, d.name) : where(look, page, d))),
    !look.counts && button(say('spoiled'), say('spoiled_about'), '', () => spoiled(look, page, say('spoiled'))),
    !wrong.held && button(say('hold'), say('hold_about'), '', () => hold(look, page)),
  ];
  show.put([...head(look, say('off_what')), wrong.mending ? el('p', {class: 'note'}, say('off_mending')) : '', tiles(...list)], [back(look, page)]);
  top();
}

// where asks for the place of a defect. One tap on it records it.
function where(look, page, defect) {
  let picture = null;
  const coats = look.wrong?.coats || [], last = coats.at(-1);
  const again = defect.again === 'coats' && last;
  const tell = spot => page.record({...deed('mend', look), defect: defect.key, spot, picture,
    ...again && {coats: [last.number]}, ...again && (spot === 'show face' || spot === 'back') && {side: [spot]}}, look.name);
  const about = el('b', {}, say('photo_add'));
  let at = 0; // where the page stood when the photo was asked for: it must not jump
  const stay = () => { scrollTo(0, at); requestAnimationFrame(() => scrollTo(0, at)); };
  const photo = el('label', {class: 'button add'}, about, el('input', {type: 'file', accept: 'image/*', capture: 'environment', onclick: () => { at = scrollY; }, onchange: async e => {
    const file = e.target.files[0];
    at ||= scrollY;
    e.target.blur();
    stay();
    if (!file) return;
    about.textContent = say('reading');
    picture = await smaller(file).catch(() => null);
    about.textContent = say(picture ? 'photo_there' : 'photo_failed');
    stay();
  }}));
  show.put([...head(look, defect.name), el('p', {class: 'say'}, say(defect.again === 'bore' ? 'which_hole' : 'where_off')),
    ...places(look.wrong, defect.again === 'bore', tell), again ? el('p', {class: 'note'}, say('coat_again', {name: last.name})) : ''],
  [el('div', {class: 'pair'}, photo, button(say('not_said'), '', '', () => tell(''))), back(look, page)]);
  top();
}

// spoiled asks what takes its place.
function spoiled(look, page, reason) {
  const tell = (what, spare) => page.record({...deed(what, look), reason, spare}, look.name);
  show.put([...head(look, reason), el('p', {class: 'say'}, say('instead'))], [
    ...(look.wrong?.spares || []).slice(0, 2).map((s, i) => button(say('use_spare', {mark: s.mark}), s.needs ? say('spare_needs', {name: s.needs}) : say('spare_ready'), i ? '' : 'main', () => tell('remake', s.mark))),
    button(say('remake'), say(look.kind === 'assembly' ? 'remake_all' : 'remake_about'), look.wrong?.spares?.length ? '' : 'main', () => tell('remake')),
    button(say('do_without'), say('do_without_about'), 'quiet', () => tell('scrap')), back(look, page)]);
  top();
}

// lost asks how many of a ticket did not come out of a step: the one that is
// done here, or else the one before which most of them stand.
function lost(look, page, chosen) {
  const {piles, free} = look.wrong;
  const pile = chosen || piles.find(p => p.station === shop.station?.key) || piles.reduce((a, b) => b.count > a.count ? b : a);
  const step = el('select', {'aria-label': say('lost_at'), onchange: e => lost(look, page, piles.find(p => p.number === +e.target.value))},
    ...piles.map(p => el('option', {value: p.number, selected: p === pile}, `${p.name} (${p.count})`)));
  const tell = instead => page.record({...deed('lost', look), step: pile.number, count: show.counted(), instead, reason: say('spoiled')}, look.name);
  show.put([...head(look, say('lost')), el('p', {class: 'say'}, say('lost_at')), step], [show.count(pile.count, 1),
    free ? button(say('spare_takes'), '', 'main', () => tell('spare')) : '',
    button(say('remake'), say('remake_about'), free ? '' : 'main', () => tell('remake')),
    button(say('do_without'), say('do_without_about'), 'quiet', () => tell('short')), back(look, page)]);
  top();
}

// hold asks why it is stopped.
function hold(look, page) {
  show.put([...head(look, say('hold_why')), tiles(...[1, 2, 3, 4, 5].map(n => button(say('hold_' + n), '', '',
    () => page.record({...deed('hold', look), reason: say('hold_' + n)}, look.name))))], [back(look, page)]);
  top();
}

// elsewhere asks where it goes: onto a cart, in part or whole, or off it, or
// its label into the queue.
function elsewhere(look, page) {
  const wrong = look.wrong || {};
  const deeds = look.counts ? '' : wrong.label_due ? el('a', {class: 'button', href: '/labels'}, say('label_waits')) :
    button(say('label'), say('label_about'), '', () => page.record(deed('relabel', look), look.name));
  show.put([...head(look, say(look.counts ? 'elsewhere_ticket' : 'elsewhere')), tiles(
    look.counts && look.count > 1 && button(say('split'), say('split_about'), '', () => cart(look, page, Math.floor(look.count / 2))),
    button(say('to_cart'), wrong.cart ? say('on_cart', {name: wrong.cart}) : '', '', () => cart(look, page, look.count)),
    wrong.cart && button(say('off_cart'), wrong.cart, '', () => page.record({...deed('load', look), cart: ''}, look.name)),
    deeds)], [show.more(look.mark), back(look, page)]);
  top();
}

// cart asks for the cart, and of a ticket how many go there.
function cart(look, page, due) {
  const carts = (shop.carts || []).filter(c => c.name !== look.wrong?.cart);
  const tell = c => page.record({...deed('load', look), cart: c.mark, ...look.counts && {count: show.counted()}}, look.name);
  show.put([...head(look, say('to_cart')), carts.length ? '' : el('p', {class: 'say'}, say('no_carts')),
    tiles(...carts.map(c => button(c.name, c.count ? say('on_it', {n: c.count}) : say('nothing_on_it'), '', () => tell(c))))],
  [look.counts ? show.count(look.count, Math.max(1, due)) : '', back(look, page)]);
  top();
}

const back = (look, page) => button(say('back'), '', 'quiet back', () => page.piece(look));
const top = () => show.$('card').scrollIntoView({block: 'start'});
