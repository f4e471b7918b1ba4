'use strict';
// What is wet, while the page is looked at: the waits count down between two
// pictures of the server, and what becomes ready is told once.
(() => {
  const board = document.getElementById('board');
  // null is for what the server says itself, in the reader's language.
  const lasting = ms => {
    const m = Math.ceil(ms / 60000);
    if (m < 1 || m >= 48 * 60) return null;
    return m < 60 ? m + ' min' : Math.floor(m / 60) + ' h' + (m % 60 ? ' ' + m % 60 + ' min' : '');
  };
  // The server's clock is ahead of this one by this much.
  let ahead = 0;
  const show = (e, ms) => { const text = lasting(ms); if (text) e.textContent = e.dataset.say.replace('%s', text); };
  const tick = () => {
    const now = Date.now() + ahead;
    for (const e of board.querySelectorAll('[data-until]')) show(e, e.dataset.until - now);
    for (const e of board.querySelectorAll('[data-since]')) show(e, now - e.dataset.since);
  };
  setInterval(() => { if (!document.hidden) tick(); }, 10000);

  // The telling is asked for with a tap, because browsers let neither a sound
  // nor a message out without one.
  const button = document.getElementById('tell');
  let audio, known = new Set();
  const readyOnes = () => new Set([...board.querySelectorAll('[data-ready="1"]')].map(e => e.dataset.key));
  const beep = () => {
    if (!audio) return;
    for (const [at, tone] of [[0, 660], [0.25, 880]]) {
      const o = audio.createOscillator(), g = audio.createGain();
      o.frequency.value = tone;
      g.gain.setValueAtTime(0.3, audio.currentTime + at);
      g.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + at + 0.22);
      o.connect(g).connect(audio.destination);
      o.start(audio.currentTime + at);
      o.stop(audio.currentTime + at + 0.23);
    }
  };
  const tell = fresh => {
    const words = fresh.map(e => e.querySelector('a').textContent.trim()).join(', ');
    beep();
    if (window.Notification && Notification.permission === 'granted') new Notification(button.dataset.said.replace('%s', words), { tag: 'benchtally-ready' });
  };
  const off = button.querySelector('b').textContent;
  button.hidden = false;
  button.addEventListener('click', () => {
    const on = button.getAttribute('aria-pressed') !== 'true';
    button.setAttribute('aria-pressed', String(on));
    button.querySelector('b').textContent = on ? button.dataset.on : off;
    if (!on) { if (audio) audio.close(); audio = null; return; }
    audio = new AudioContext();
    beep();
    if (window.Notification && Notification.permission === 'default') Notification.requestPermission();
  });
  known = readyOnes();
  new MutationObserver(() => {
    const fresh = [...board.querySelectorAll('[data-ready="1"]')].filter(e => !known.has(e.dataset.key));
    known = readyOnes();
    if (fresh.length && button.getAttribute('aria-pressed') === 'true') tell(fresh);
    draw();
  }).observe(board, { childList: true });

  // The plot. It is drawn again with each new picture, at most once a minute.
  const at = document.getElementById('plot');
  let plot, drawn = 0;
  const dashed = (u, from) => { u.ctx.setLineDash(from ? [6, 5] : []); };
  const options = (data, width) => {
    const colour = name => getComputedStyle(document.documentElement).getPropertyValue('--' + name).trim();
    const ink = colour('ink');
    const axis = (scale, side, unit) => ({ scale, side, stroke: ink, grid: { show: scale === '%' }, size: 56,
      values: (u, v) => v.map(n => n + unit) });
    const colours = ['go', 'wait', 'ink', 'graphite'].map(colour);
    return {
      width, height: Math.round(Math.min(360, Math.max(240, width * 0.6))),
      scales: { x: { time: true }, '%': { range: [0, 100] }, '°C': {} },
      axes: [{ stroke: ink, values: [[86400, '{DD}.{MM}.'], [3600, '{HH}:{mm}', '\n{DD}.{MM}.'], [60, '{HH}:{mm}', '\n{DD}.{MM}.']] },
        axis('%', 3, ' %'), axis('°C', 1, ' °')],
      series: [{ value: '{HH}:{mm}' },
        { label: 'temperature', scale: '°C', stroke: colour('stop'), width: 2, paths: uPlot.paths.stepped({ align: 1 }) },
        { label: 'humidity', scale: '%', stroke: colour('graphite'), width: 1, dash: [2, 3] },
        ...data.lines.map((l, i) => ({ label: l.name, scale: '%', stroke: colours[i % 4], width: 3 }))],
      hooks: { draw: [u => {
        const x = u.valToPos(data.now, 'x', true), c = u.ctx;
        c.save();
        c.strokeStyle = ink;
        c.lineWidth = 2;
        dashed(u, true);
        c.beginPath();
        c.moveTo(x, u.bbox.top);
        c.lineTo(x, u.bbox.top + u.bbox.height);
        c.stroke();
        c.restore();
      }] },
    };
  };
  const draw = async force => {
    if (!window.uPlot || !at || (!force && Date.now() - drawn < 60000) || document.hidden) return;
    drawn = Date.now();
    const res = await fetch(at.dataset.from);
    if (!res.ok) return;
    const data = await res.json();
    ahead = data.now * 1000 - Date.now();
    at.parentElement.hidden = false;
    if (plot) plot.destroy();
    plot = new uPlot(options(data, at.clientWidth), [data.times, data.celsius, data.humidity, ...data.lines.map(l => l.percent)], at);
  };
  draw(true);
  addEventListener('resize', () => { if (plot) draw(true); });
})();
