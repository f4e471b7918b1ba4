// Says why what was scanned cannot be done here now, in big words on a card in
// the colour and the shape of a refusal.
import {say} from './words.js';
import {el} from './show.js';

const shape = 'M10 1h12l9 9v12l-9 9H10l-9-9V10zM8 13v6h16v-6z'; // as on the refusal that fills the screen

// why is the reason in a few words, '' when it can be done.
export function why(look, station) {
  const first = look.offers[0];
  if (look.unseen || look.kind === 'cart') return '';
  if (look.stands === 'scrapped' || look.stands === 'held') return say('stop_' + look.stands);
  if (!first || !station) return '';
  if (first.stops) return say('stop_coat');
  if (!first.overrule) return first.here ? '' : say('not_here', {place: first.place});
  return say('still_' + look.stands, {time: look.stands === 'in clamps' ? look.until : first.until});
}

// sign draws the reason at the head of a card.
export function sign(words) {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg'), path = document.createElementNS(svg.namespaceURI, 'path');
  svg.setAttribute('viewBox', '0 0 32 32');
  svg.setAttribute('aria-hidden', 'true');
  path.setAttribute('d', shape);
  svg.append(path);
  return el('p', {class: 'alarm'}, svg, el('b', {}, words));
}
