'use strict';
// The count of a ticket: one less, one more, within what is there.
document.addEventListener('click', e => {
  const step = e.target.closest('[data-less]') ? -1 : e.target.closest('[data-more]') ? 1 : 0;
  if (!step) return;
  const field = e.target.closest('.count').querySelector('input');
  const n = (parseInt(field.value, 10) || 0) + step;
  field.value = Math.min(Math.max(n, 1), parseInt(field.max, 10));
});

// A second tap on a button while the first is on its way does nothing. The id
// in the form makes a repeat harmless; this spares the wait.
document.addEventListener('submit', e => {
  if (e.target.dataset.sent) { e.preventDefault(); return; }
  e.target.dataset.sent = '1';
  setTimeout(() => { delete e.target.dataset.sent; }, 4000);
});

// The floor stays up to date while it is seen, and lets go of the stream when
// it is hidden: browsers allow few connections to one server.
(() => {
  const board = document.getElementById('board');
  if (!board) return;
  let stream, stale;
  const open = () => {
    if (stream || document.hidden) return;
    stream = new EventSource(board.dataset.stream);
    stream.addEventListener('board', e => {
      board.innerHTML = e.data;
      board.classList.remove('stale');
    });
    stream.onerror = () => {
      board.classList.add('stale');
      if (stream.readyState === EventSource.CLOSED) leave();
    };
  };
  // leave shows the way in on a phone that was taken out of the shop.
  const leave = async () => {
    const page = await fetch(location.href, {cache: 'no-store'}).catch(() => null);
    if (page?.status === 401) location.reload();
  };
  const close = () => { if (stream) { stream.close(); stream = null; } };
  document.addEventListener('visibilitychange', () => document.hidden ? close() : open());
  addEventListener('pagehide', close);
  addEventListener('pageshow', open);
  open();
})();

// Another format has another sheet in use.
document.addEventListener('change', e => {
  const box = e.target.closest('.sheet-choice');
  if (box && e.target.name === 'sheet') box.querySelector('[name=first]').value = e.target.selectedOptions[0].dataset.next;
});

// Signed on paper: as soon as the time of a step is written, the step that has
// to wait after it says until when.
(() => {
  const form = document.querySelector('form.signing');
  if (!form) return;
  const signedAt = n => {
    const time = form.elements['time-' + n]?.value, day = form.elements['day-' + n]?.value || form.elements.day.value;
    return time && day ? new Date(day + 'T' + time) : null;
  };
  const tell = () => {
    for (const step of form.querySelectorAll('[data-after]')) {
      const until = step.querySelector('[data-until]'), from = signedAt(step.dataset.after);
      if (!until) continue;
      until.hidden = !from;
      if (!from) continue;
      from.setMinutes(from.getMinutes() + Number(step.dataset.minutes));
      until.querySelector('b').textContent = from.toLocaleString(document.documentElement.lang,
        {weekday: 'short', day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit', hour12: false});
    }
  };
  form.addEventListener('input', tell);
  tell();
})();

// The phone that shows a code for another one says by itself when that has
// joined.
(() => {
  const box = document.querySelector('[data-joins]');
  if (!box) return;
  const ask = async () => {
    const said = document.hidden ? null : await fetch(box.dataset.joins, {cache: 'no-store'}).catch(() => null);
    if (!said || said.status === 204) setTimeout(ask, 1500);
    if (said?.status !== 200) return;
    const over = document.createElement('h2');
    over.textContent = await said.text();
    box.replaceChildren(over);
  };
  ask();
})();
