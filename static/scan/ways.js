// The ways in: the live camera where the browser lends it, a photo, a typed
// mark, a scanner that types. The best one is the large one, and each is one
// tap away.
import {say} from './words.js';
import {$, el} from './show.js';
import * as camera from './camera.js';
import * as keys from './keys.js';
import * as reader from './reader.js';
import * as signal from './signal.js';

const unread = 10_000; // ms without a reading until other ways are offered

let quiet = 0;
let took = () => {};

// waitForReading offers the other ways when the camera reads nothing for long.
export function waitForReading() {
  clearTimeout(quiet);
  hint('');
  if (camera.running()) quiet = setTimeout(() => hint(say('no_read'), true), unread);
}

// hint shows a sentence, with the other ways to press where they help.
function hint(words, others = false) {
  const photo = el('button', {type: 'button', onclick: () => $('photo').click()}, el('b', {}, say('take_photo')));
  const type = el('button', {type: 'button', onclick: () => { if ($('typed').hidden) $('type-way').click(); $('typed-mark').focus(); }}, el('b', {}, say('type_mark')));
  $('hint').replaceChildren(words, ...others ? [el('span', {class: 'pair'}, photo, type)] : []);
  $('hint').hidden = !words;
  if (others) $('hint').scrollIntoView({block: 'nearest'});
}

async function cameraOn() {
  try {
    await camera.start($('view'), fromCamera);
    drawCamera();
    waitForReading();
  } catch (err) {
    cameraFailed(err);
  }
}

const fromCamera = (text, began) => { took(text, 'camera', began); };

function cameraFailed(err) {
  camera.stop($('view'));
  const reason = {NotAllowedError: 'camera_denied', NotFoundError: 'camera_none', OverconstrainedError: 'camera_none'}[err.name] || 'camera_failed';
  hint(say(reason, {text: err.name || ''}), true);
  drawCamera();
}

function drawCamera() {
  const on = camera.running();
  $('view').hidden = !on;
  $('light').hidden = !on || !camera.hasLight();
  $('camera').querySelector('b').textContent = say(on ? 'camera_stop' : 'camera_start');
  $('camera').classList.toggle('main', !on);
  $('camera').dataset.is = on ? 'on' : 'off';
}

async function photo(e) {
  const file = e.target.files[0];
  e.target.value = '';
  if (!file) return;
  hint(say('reading'));
  const text = await reader.readPhoto(file).catch(() => '');
  hint('');
  if (text) took(text, 'photo');
  else signal.show('bad', say('photo_empty'), '', say('photo_empty_say'), say('photo_empty_do'));
}

// start opens every way in; each text that is read goes to found.
export function start(found) {
  took = found;
  const live = camera.possible();
  $('camera').hidden = !live;
  $('secure-way').hidden = isSecureContext;
  $('photo-way').classList.toggle('main', !live); // the best way is the large one
  $('camera').onclick = () => camera.running() ? (camera.stop($('view')), drawCamera(), waitForReading()) : cameraOn();
  let lit = false;
  $('light').onclick = () => { camera.light(lit = !lit).catch(() => {}); $('light').setAttribute('aria-pressed', String(lit)); };
  camera.follow($('view'), fromCamera, cameraFailed);
  $('photo').onchange = photo;
  $('type-way').onclick = () => { $('typed').hidden = !$('typed').hidden; if (!$('typed').hidden) $('typed-mark').focus(); };
  $('typed').onsubmit = e => {
    e.preventDefault();
    const text = $('typed-mark').value;
    $('typed-mark').value = '';
    $('typed-mark').blur(); // the keyboard would hide what is shown now
    if (text.trim()) took(text, 'typed');
  };
  keys.listen($('keys'), text => took(text, 'keys'));
  if (live) startAllowed();
}

// startAllowed starts the camera by itself where a person has allowed it before.
async function startAllowed() {
  const allowed = await navigator.permissions?.query({name: 'camera'}).then(p => p.state, () => '');
  if (allowed === 'granted') cameraOn();
  else drawCamera();
}
