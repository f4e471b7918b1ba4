// Where on a piece something is: the picture of its label, to scale, with a
// place of a thumb's size for each hole, each edge and each face, and all of
// them again as a plain list.
import {say} from './words.js';
import {el} from './show.js';

const thumb = 64;   // px, the least that a finger hits
const highest = 200; // px of the picture
const faces = ['left end', 'right end', 'far edge', 'near edge', 'show face', 'back'];

// nameOf is a place in the language of the page. What is sent stays the name
// that the log has.
const nameOf = spot => spot.hole ? say('hole', {face: say('face_' + spot.face), n: spot.hole}) : say('face_' + spot.face);

// places draws them; choose gets the name of the one that is tapped. For a hole
// that is off only holes are shown.
export function places(wrong, holes, choose) {
  const all = [...wrong?.spots || [], ...holes ? [] : faces.map(face => ({spot: face, face}))];
  const list = listed(all, choose);
  if (!wrong?.sketch || holes && !all.length) return [list];
  const picture = el('div', {class: 'sketch'});
  new ResizeObserver(() => picture.clientWidth && draw(picture, wrong, holes, choose)).observe(picture);
  return [picture, el('details', {}, el('summary', {}, say('as_list')), list)];
}

// listed has the holes of one face in rows of their own, so that the first of
// the next face never stands beside the last of this one.
function listed(all, choose) {
  const faces = Map.groupBy ? [...Map.groupBy(all, s => s.hole ? s.face : '').values()] : [all];
  return el('div', {}, ...faces.map(spots => el('div', {class: 'places' + (spots[0].hole ? ' numbered' : '')},
    ...spots.map(s => el('button', {type: 'button', onclick: () => choose(s.spot)}, nameOf(s))))));
}

// usual is where a hole of a part without a pattern is drawn: spread along its
// end or its edge.
function usual(spot, spots, {long, wide}) {
  const same = spots.filter(s => s.face === spot.face), part = (same.indexOf(spot) + 1) / (same.length + 1);
  return {'left end': {x: 0, y: wide * part}, 'right end': {x: long, y: wide * part}, 'far edge': {x: long * part, y: 0}, 'near edge': {x: long * part, y: wide}}[spot.face]
    || {x: long * part, y: wide / 2};
}

// draw lays the picture out for the width it has: it is done again when the
// phone is turned.
function draw(box, wrong, holes, choose) {
  const {sketch} = wrong, w = box.clientWidth;
  const k = Math.min((w - 8) / sketch.long, highest / sketch.high);
  const at = {k, w, x: (w - sketch.long * k) / 2, y: 0};
  const {buttons, lines, high} = holes ? flags(wrong, at, choose) : sides(sketch, at, choose);
  box.style.height = high + 'px';
  box.replaceChildren(drawing(sketch, at, lines, high), ...buttons);
}

function drawing(sketch, at, lines, high) {
  const make = (name, props, ...inside) => {
    const e = document.createElementNS('http://www.w3.org/2000/svg', name);
    for (const key in props) e.setAttribute(key, props[key]);
    e.append(...inside);
    return e;
  };
  return make('svg', {width: at.w, height: high, 'aria-hidden': true},
    make('g', {transform: `translate(${at.x} ${at.y}) scale(${at.k})`}, make('path', {class: 'lines', d: sketch.lines}), make('path', {class: 'areas', d: sketch.areas})),
    make('path', {class: 'lead', d: lines.join('')}));
}

function target(words, name, left, top, width, height, tap, kind) {
  const b = el('button', {type: 'button', class: kind, 'aria-label': name, onclick: tap}, el('i', {}, ...[words].flat()));
  b.style.cssText = `left:${left}px;top:${top}px;width:${width}px;height:${height}px`;
  return b;
}

// flags give each hole a number beside the picture, with a line to its place:
// the holes themselves are too close for a thumb.
function flags(wrong, at, choose) {
  const {sketch} = wrong;
  const holes = wrong.spots.map((spot, i) => {
    const h = sketch.holes[i] || usual(spot, wrong.spots, sketch);
    return {...spot, x: at.x + h.x * at.k, y: h.y * at.k, above: h.y < sketch.wide / 2};
  });
  const above = rows(holes.filter(h => h.above), at.w).reverse(), below = rows(holes.filter(h => !h.above), at.w);
  at.y = above.length * thumb + (above.length ? 16 : 4);
  const foot = at.y + sketch.high * at.k + 16;
  const lines = [], buttons = [];
  const put = (row, top, end) => {
    for (const h of row) {
      buttons.push(target([h.hole || '?', ' ', el('small', {}, say('face_' + h.face))], `${h.hole || '?'} ${nameOf(h)}`, h.at - thumb / 2, top, thumb, thumb, () => choose(h.spot), 'flag'));
      lines.push(`M${h.x} ${at.y + h.y}L${h.at} ${end}`);
    }
  };
  above.forEach((row, i) => put(row, i * thumb, i * thumb + thumb - 6));
  below.forEach((row, i) => put(row, foot + i * thumb, foot + i * thumb + 6));
  return {buttons, lines, high: foot + below.length * thumb};
}

// rows spread flags as near to their holes as their size allows.
function rows(holes, w) {
  const each = Math.floor(w / thumb), out = [];
  holes.sort((a, b) => a.x - b.x);
  for (let i = 0; i < holes.length; i += each) {
    const row = holes.slice(i, i + each);
    row.forEach((h, j) => { h.at = Math.max(h.x, j ? row[j - 1].at + thumb : thumb / 2); });
    [...row].reverse().forEach((h, j, back) => { h.at = Math.min(h.at, j ? back[j - 1].at - thumb : w - thumb / 2); });
    out.push(row);
  }
  return out;
}

// sides are the faces and edges: the picture itself is the show face, and what
// lies round it is where it is on the piece.
function sides(sketch, at, choose) {
  const wide = Math.max(thumb, sketch.wide * at.k), thin = Math.max(0, sketch.high - sketch.wide) * at.k;
  at.y = thumb + 4 + (wide - sketch.wide * at.k) / 2;
  const left = Math.max(thumb, at.x + 40), mid = at.w - 2 * left;
  const edge = thumb + 4 + wide + Math.max(0, thin - thumb);
  const side = (face, ...box) => target(say('face_' + face), say('face_' + face), ...box, () => choose(face), 'side');
  return {lines: [], high: edge + thumb + 4, buttons: [
    side('far edge', 0, 0, at.w, thumb), side('left end', 0, thumb + 4, left - 2, wide), side('show face', left, thumb + 4, mid, wide),
    side('right end', at.w - left + 2, thumb + 4, left - 2, wide), side('near edge', 0, edge + 4, at.w, thumb)]};
}
