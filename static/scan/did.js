// Says in a few words what was recorded: of a repair where it is and whether a
// photo went along, of a step its own name.
import {say} from './words.js';

// hole is the name of a hole's place: the number first, as people call it.
const hole = spot => /^(.*), hole (\d+)$/.exec(spot);
const face = name => say('face_' + name).startsWith('face_') ? name : say('face_' + name);

// did gives the words for an answered deed.
export function did(deed, a) {
  if (deed.do === 'mend') return mended(deed, a);
  if (deed.do === 'load') return say(deed.cart ? 'did_load' : 'did_unload');
  if (deed.do === 'remake') return deed.spare ? say('did_spare') : say('did_remake', {mark: a.new || ''});
  const words = say('did_' + deed.do);
  return words.startsWith('did_') ? a.did : words;
}

function mended(deed, a) {
  const at = hole(deed.spot || '');
  const words = at ? [say('hole_at', {n: at[2], face: face(at[1])}), say('plugged')] : [a.did, deed.spot && face(deed.spot)];
  return [...words, deed.picture && say('with_photo')].filter(Boolean).join(', ');
}

// bad reports whether what was recorded is no success: it is shown without the
// green and its tick.
export const bad = deed => deed.do === 'scrap' || deed.do === 'lost' || deed.do === 'hold' || deed.do === 'remake' && !deed.spare;
