'use strict';
// A screen on the wall runs for weeks without a hand on it. So there is one
// stream, one clock and one set of listeners, made once; a picture replaces
// the one before it; and whatever was forgotten here goes with the load that
// comes once a day.
(() => {
  const second = 1000, minute = 60 * second, hour = 60 * minute;
  const turning = 10 * second;         // how long each part of a picture is seen
  const overdue = 75 * second;         // the server draws every 30 s, changed or not
  const longest = 30 * second;         // between two tries to connect
  const board = document.getElementById('board'), old = document.getElementById('old');
  const page = document.getElementById('page'), hold = document.getElementById('hold');
  const loaded = Date.now();
  let stream = null, retry = 0, wait = second;
  let seen = loaded, lost = 0;         // when the picture came, and since when there is no connection
  let changed = loaded, cards = '';    // when it last showed something new
  let at = 0, pages = 1, turned = loaded, held = false;

  // write changes what an element says, if it says something else.
  const write = (id, words) => {
    const place = document.getElementById(id);
    if (place.textContent !== String(words)) place.textContent = words;
  };

  // show is what is done with a picture.
  const show = e => {
    seen = Date.now();
    lost = 0;
    wait = second;
    board.innerHTML = e.data;
    const now = document.getElementById('cards').innerHTML;
    if (now !== cards) { cards = now; changed = seen; }
    lay();
    tell();
    if (outlived()) location.reload();
  };

  // outlived is asked just after a picture came, so that the load will find
  // the server. A new version is loaded at once, but never twice in a minute;
  // the daily load waits for ten minutes without a change, up to six hours.
  const outlived = () => {
    const age = seen - loaded;
    if (age < minute) return false;
    if (board.querySelector('.head').dataset.version !== version) return true;
    return age > 30 * hour || (age > 24 * hour && seen - changed > 10 * minute);
  };

  // lay brings the part whose turn it is into view.
  const lay = () => {
    const view = document.getElementById('cards');
    const step = view.clientWidth + parseFloat(getComputedStyle(view).columnGap);
    pages = Math.max(1, Math.ceil((view.scrollWidth - 1) / step));
    at %= pages;
    view.scrollLeft = at * step;
    page.hidden = pages === 1;
    document.documentElement.classList.toggle('many', pages > 1);
    write('part', `${at + 1} / ${pages}`);
  };

  // tell says in words when the picture is old.
  const tell = () => {
    const now = Date.now(), age = now - seen;
    const say = (lost && now - lost > 5 * second) || age > overdue;
    old.hidden = !say;
    if (!say) return;
    write('of', board.querySelector('.head').dataset.at);
    write('minutes', Math.floor(age / minute));
    document.getElementById('aged').hidden = age < 2 * minute;
  };

  const open = () => {
    retry = 0;
    if (stream || document.hidden) return;
    stream = new EventSource(board.dataset.stream);
    stream.addEventListener('board', show);
    stream.addEventListener('error', again);
  };
  const close = () => {
    clearTimeout(retry);
    retry = 0;
    if (!stream) return;
    stream.removeEventListener('board', show);
    stream.removeEventListener('error', again);
    stream.close();
    stream = null;
  };
  // again connects anew after a while that grows, a little different on each
  // screen so that they do not all come at once.
  const again = () => {
    close();
    lost = lost || Date.now();
    retry = setTimeout(open, wait * (.75 + Math.random() / 2));
    wait = Math.min(wait * 2, longest);
  };

  // Every second: is it time for the next part, and is the stream still alive?
  const tick = () => {
    const now = Date.now();
    if (!held && now - turned >= turning) { turned = now; at += 1; lay(); }
    if (stream && now - Math.max(seen, lost) > overdue) again();
    tell();
  };

  const version = board.querySelector('.head').dataset.version;
  document.documentElement.classList.add('turns');
  hold.addEventListener('click', () => { held = !held; hold.setAttribute('aria-pressed', held); lay(); });
  document.addEventListener('visibilitychange', () => { if (document.hidden) close(); else { wait = second; open(); } });
  addEventListener('resize', lay);
  lay();
  setInterval(tick, second);
  open();
})();
