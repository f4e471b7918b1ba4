// What a person gets without reading: the whole screen in a colour with a
// shape and a large word, a sound, a buzz. Each says the same alone.

const tones = { // pairs of pitch in Hz and length in s
  good: [[1570, .09]],
  seen: [[880, .05]],
  kept: [[1050, .07], [1050, .07]],
  bad: [[330, .16], [220, .28]],
};
const buzzes = {good: 60, seen: 25, kept: [40, 60, 40], bad: [180, 90, 180]};
const stays = {good: 900, seen: 700, kept: 1100}; // ms; a refusal stays until it is seen

let sound, timer = 0;

// A browser lets a page make a sound only after somebody has touched it.
for (const kind of ['pointerdown', 'keydown']) {
  addEventListener(kind, () => {
    try {
      sound ||= new AudioContext();
      if (sound.state === 'suspended') sound.resume();
    } catch { /* no sound on this phone: the screen says it */ }
  });
}

function play(kind) {
  if (sound?.state !== 'running') return;
  let at = sound.currentTime;
  for (const [pitch, length] of tones[kind]) {
    const tone = sound.createOscillator(), loud = sound.createGain();
    tone.type = kind === 'bad' ? 'square' : 'sine';
    tone.frequency.value = pitch;
    loud.gain.setValueAtTime(.35, at);
    loud.gain.linearRampToValueAtTime(.001, at + length);
    tone.connect(loud).connect(sound.destination);
    tone.start(at);
    tone.stop(at + length);
    at += length + .05;
  }
}

// show fills the screen: kind is good, seen, kept or bad; word is large, below
// it come what it is about and, of a refusal, what to do.
export function show(kind, word, about = '', say = '', act = '') {
  const all = document.getElementById('signal');
  clearTimeout(timer);
  all.className = kind;
  for (const [id, text] of [['signal-word', word], ['signal-about', about], ['signal-say', say], ['signal-do', act]]) {
    const line = document.getElementById(id);
    line.textContent = text;
    line.hidden = !text;
  }
  leave('');
  document.getElementById('signal-on').hidden = kind !== 'bad';
  document.getElementById('signal-anyway').hidden = true;
  all.hidden = false;
  play(kind);
  navigator.vibrate?.(buzzes[kind]);
  if (stays[kind]) timer = setTimeout(hide, stays[kind]);
}

// leave names the key that takes a refusal away; '' gives it the usual word.
export function leave(words) {
  const key = document.getElementById('signal-on');
  key.dataset.usual ||= key.textContent;
  key.textContent = words || key.dataset.usual;
}

// warn sounds like a refusal: the card in view is one.
export function warn() {
  hide();
  play('bad');
  navigator.vibrate?.(buzzes.bad);
}

// hint says without the screen that something was read: what there is to tap
// stays in view.
export function hint() {
  hide();
  play('seen');
  navigator.vibrate?.(buzzes.seen);
}

// hide takes the signal away.
export function hide() {
  clearTimeout(timer);
  document.getElementById('signal').hidden = true;
}
