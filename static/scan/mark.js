// What a camera, a scanner or a person read: a mark, a placard, a badge, or
// none of them.
// The same rules as the server's, so that a slip is told without a network.

const marks = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
const values = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*';
const example = '101S';

// checkCharacter is the check of ISO/IEC 7064 MOD 37-2, '' for what has none.
export function checkCharacter(text) {
  let sum = 0;
  for (const c of text) {
    const value = values.indexOf(c);
    if (value < 0 || value > 35) return '';
    sum = (sum + value) * 2 % 37;
  }
  return text === '' ? '' : values[(38 - sum) % 37];
}

// readCode tells what a text is: {mark}, {place}, {person}, or {why} with the text that
// a person should compare.
export function readCode(text) {
  text = text.trim().slice(0, 500);
  const place = placeOf(text);
  if (place) return {place};
  const person = personOf(text);
  if (person) return {person};
  const found = markOf(text.toUpperCase());
  return found.why ? {...otherKeys(text.toUpperCase()) || found} : found;
}

// markOf reads a bare mark or the address on a label, whatever server it
// names: a label outlives the router's mood.
function markOf(text) {
  const bare = address(text);
  const mark = (bare || '').replace(/[ \t\u00a0\-‐‑–−]/g, '').replace(/O/g, '0').replace(/[IL]/g, '1');
  if (mark.length < 4 || mark.length > 14 || [...mark].some(c => !marks.includes(c))) {
    return {why: 'unreadable', text: text.slice(0, 40), example};
  }
  return checkCharacter(mark.slice(0, -1)) === mark.at(-1) ? {mark} : {why: 'mistyped', text: mark, example};
}

// address gives what follows /P/ or /P/NUMBER/, the text itself when it is no
// address, and null for the address of something else.
function address(text) {
  if (!text.includes('/')) return text;
  const words = text.split('#')[0].split('?')[0].replace(/\/+$/, '').split('/');
  const [before, last] = [words.slice(0, -1), words.at(-1)];
  if (before.at(-1) === 'P') return last;
  if (before.at(-2) === 'P' && /^\d+$/.test(before.at(-1))) return last;
  return null;
}

function placeOf(text) {
  const found = /(?:^|\/)S\/([^/?#]+)\/?(?:[?#].*)?$/i.exec(text) || foreign(text) && /[^A-Z0-9]S[^A-Z0-9]([A-Z0-9]+)[^A-Z0-9]?$/i.exec(text);
  return found ? found[1].toLowerCase() : '';
}

// personOf is the number on a badge, with its secret half after a dash where it
// has one; 0 for none.
function personOf(text) {
  const secret = /(?:^|\/)W\/(\d{1,15}-[0-9A-Z]{8})$/i.exec(text);
  if (secret) return secret[1].toUpperCase();
  const found = /(?:^|\/)W\/(\d{1,15})\/?(?:[?#].*)?$/i.exec(text) || foreign(text) && /[^A-Z0-9]W[^A-Z0-9](\d{1,15})[^A-Z0-9]?$/i.exec(text);
  return found ? Number(found[1]) : 0;
}

// foreign reports whether an address came through the keys of another board.
const foreign = text => /^HTTPS?[^A-Z0-9]/i.test(text) && !text.includes('://');

// otherKeys reads what a scanner typed that was set to another keyboard: the
// colon and the strokes are then other signs, and Y and Z may have changed
// places. The check tells whether the guess is right.
function otherKeys(text) {
  if (!foreign(text)) return null;
  const words = text.split(/[^A-Z0-9]+/).filter(Boolean);
  const mark = words.at(-1) || '';
  if (words.at(-2) !== 'P' && !(words.at(-3) === 'P' && /^\d+$/.test(words.at(-2)))) return null;
  const swapped = mark.replace(/[YZ]/g, c => c === 'Y' ? 'Z' : 'Y');
  return [mark, swapped].map(markOf).find(found => found.mark) || null;
}
