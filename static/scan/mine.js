// What is set on this phone: who uses it, where it works, and the hand that holds
// it.
import {say, clock} from './words.js';
import {$} from './show.js';
import {shop} from './shop.js';
import * as deeds from './deeds.js';
import * as show from './show.js';

let person = () => {};

// start listens to what is pressed; said gets who uses the phone.
export function start(said) {
  person = said;
  setSide(localStorage.getItem('scan-side') || 'right');
  for (const b of document.querySelectorAll('#sides button')) b.onclick = () => setSide(b.value);
  $('sign-off').onclick = () => person(0);
  $('iam').onchange = e => { e.target.blur(); iAm(e.target.value); };
  $('iam-new').onsubmit = e => { e.preventDefault(); $('iam-name').blur(); iAm($('iam-name').value.trim()); };
}

// draw shows what is known of the shop.
export function draw() {
  $('place').value = shop.station?.key || '';
  $('caution').textContent = shop.station?.caution || '';
  $('old').hidden = shop.fresh || !shop.asked;
  $('old').textContent = shop.at ? say('connection_gone', {time: clock(shop.at)}) : say('picture_never');
  deeds.by(shop.who);
  $('who').textContent = shop.who;
  $('sign-off').textContent = shop.who ? say('sign_off', {name: shop.who}) : '';
  $('sign-off').hidden = !shop.who;
  drawPeople();
  show.setups(shop);
}

// drawPeople lists who may use the phone; whoever is not among them is named.
function drawPeople() {
  if (document.activeElement === $('iam')) return;
  const list = shop.people.map(p => [p.person, p.name]);
  if (shop.who && !shop.people.some(p => p.name === shop.who)) list.push([shop.who, shop.who]);
  const now = shop.people.find(p => p.name === shop.who)?.person || shop.who;
  $('iam').replaceChildren(...[['', say('nobody')], ...list, ['+', say('another_name')]].map(([value, name]) => show.el('option', {value, selected: value === now}, name)));
}

// iAm says who uses the phone, as chosen from the list.
function iAm(value) {
  $('iam-new').hidden = value !== '+';
  if (value === '+') return $('iam-name').focus();
  person(/^\d+$/.test(value) ? Number(value) : value);
}

// setSide puts what is pressed most on the side of the hand that holds the phone.
function setSide(side) {
  localStorage.setItem('scan-side', side);
  document.body.classList.toggle('left', side === 'left');
  for (const b of document.querySelectorAll('#sides button')) b.setAttribute('aria-pressed', String(b.value === side));
}
