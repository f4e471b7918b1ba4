'use strict';
// A screen on the wall runs for weeks without a hand on it. So there is one
// stream, one clock and one set of listeners, made once; a picture replaces
// the one before it; and whatever was forgotten here goes with the load that
// comes once a day.
(() => {
  const second = 1000, minute = 60 * second, hour = 60 * minute;
  const turning = 10 * second;         // how long each part of a picture is seen
  const overdue = 75 * second;         // the server draws every 30 s, changed or not
  const sizes = [5.6, 5, 4.5, 4.1, 3.7, 3.4]; // of the type, in hundredths of the height; read from 4 m it needs the least
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

  // measure is how the picture lies at a size of type, in hundredths of the
  // screen's height: how many columns there are, how many are seen at once, and
  // how many parts that makes.
  const measure = (view, size) => {
    document.documentElement.style.fontSize = size + 'vh';
    const style = getComputedStyle(view), gap = parseFloat(style.columnGap);
    const step = view.clientWidth + gap;
    const seen = Math.max(1, Math.floor(step / (parseFloat(style.columnWidth) + gap) + .001));
    const columns = Math.max(1, Math.round((view.scrollWidth + gap) / (step / seen)));
    return {step, seen, columns, parts: Math.ceil(columns / seen)};
  };

  // grow takes the largest type that needs no more parts than the smallest.
  const grow = view => {
    const least = measure(view, sizes.at(-1)).parts;
    for (const size of sizes) {
      const got = measure(view, size);
      if (got.parts <= least && !tight(view)) return got;
    }
    return measure(view, sizes.at(-1));
  };

  // tight reports whether a word has no room, or the head takes it from the rest.
  const tight = view => board.scrollWidth > board.clientWidth + 1 || view.clientHeight < innerHeight * .7;

  // lay brings the part whose turn it is into view.
  const lay = () => {
    const view = document.getElementById('cards');
    for (const f of view.querySelectorAll('.filler')) f.remove();
    const {step, seen, columns, parts} = grow(view);
    pages = parts;
    at %= pages;
    for (let n = columns; pages > 1 && n < pages * seen; n++) {
      const filler = document.createElement('div');
      filler.className = 'filler';
      view.append(filler);
    }
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
  const again = e => {
    if (e?.target?.readyState === EventSource.CLOSED) leave();
    close();
    lost = lost || Date.now();
    retry = setTimeout(open, wait * (.75 + Math.random() / 2));
    wait = Math.min(wait * 2, longest);
  };

  // leave shows the way in on a screen whose link was taken back.
  const leave = async () => {
    const page = await fetch(location.href, {cache: 'no-store'}).catch(() => null);
    if (page?.status === 401) location.reload();
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
