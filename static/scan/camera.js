// The live camera. Browsers lend it only to pages that came over HTTPS or from
// this computer itself.
import * as reader from './reader.js';

export const possible = () => isSecureContext && !!navigator.mediaDevices?.getUserMedia;

const wish = {audio: false, video: {facingMode: {ideal: 'environment'}, width: {ideal: 1280}, height: {ideal: 720}}};

let track, awake, starting, wanted = false;

// running reports whether pictures come in.
export const running = () => track?.readyState === 'live';

// start turns the camera on and gives each text it reads to found. The error
// is the browser's own.
export function start(video, found) {
  wanted = true;
  if (running()) return Promise.resolve();
  starting ||= begin(video, found).finally(() => { starting = null; });
  return starting; // a second tap while it starts is the same start
}

async function begin(video, found) {
  const [stream] = await Promise.all([navigator.mediaDevices.getUserMedia(wish), reader.prepare()]);
  if (!wanted || document.hidden) {
    stream.getTracks().forEach(t => t.stop()); // turned off meanwhile
    return;
  }
  track = stream.getVideoTracks()[0];
  track.onended = () => { if (wanted && !document.hidden) start(video, found).catch(() => {}); }; // a call took it
  video.srcObject = stream;
  await video.play();
  stayAwake();
  look(video, track, found);
}

// stop turns it off.
export function stop(video) {
  wanted = false;
  release(video);
}

function release(video) {
  track?.stop();
  track = null;
  video.srcObject = null;
  awake?.release().catch(() => {});
  awake = null;
}

// follow lets go of the camera while the page is hidden, by a call or the lock,
// and takes it up again after.
export function follow(video, found, failed) {
  document.addEventListener('visibilitychange', () => {
    if (document.hidden) release(video);
    else if (wanted) start(video, found).catch(failed);
  });
}

async function stayAwake() {
  try {
    awake = await navigator.wakeLock?.request('screen');
  } catch { /* a phone low on power says no */ }
}

// light says whether the camera has one, and turns it on or off.
export const hasLight = () => !!track?.getCapabilities?.().torch;
export const light = on => track.applyConstraints({advanced: [{torch: on}]});

const nextPicture = video => new Promise(resolve =>
  video.requestVideoFrameCallback ? video.requestVideoFrameCallback(resolve) : setTimeout(resolve, 66));

async function look(video, mine, found) {
  while (mine === track && mine.readyState === 'live') {
    await nextPicture(video);
    if (!video.videoWidth || mine !== track) continue;
    const began = performance.now();
    const text = await reader.read(video, video.videoWidth, video.videoHeight);
    if (text) found(text, began);
  }
}
