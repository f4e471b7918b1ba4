// A scanner that is plugged in or paired types like a keyboard. Whatever has
// the focus, its keys go into one field that opens no keyboard on the screen.

const pause = 350; // a scanner that sends no Enter is done after this, in ms

// listen gives each text that a scanner typed to found.
export function listen(field, found) {
  let timer = 0;
  const take = () => {
    clearTimeout(timer);
    const text = field.value.trim();
    field.value = '';
    if (text) found(text);
  };
  field.addEventListener('keydown', e => {
    if (e.key !== 'Enter' && e.key !== 'Tab' || !field.value) return;
    e.preventDefault();
    take();
  });
  field.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(take, pause);
  });
  // A key that would land on a button lands in the field: else the Enter at
  // the end of a code would press that button.
  document.addEventListener('keydown', e => {
    if (e.key.length === 1 && !e.ctrlKey && !e.altKey && !e.metaKey && e.key !== ' ' && !typing(e.target)) field.focus({preventScroll: true});
  }, true);
  const home = () => { if (!typing(document.activeElement)) field.focus({preventScroll: true}); };
  document.addEventListener('click', () => setTimeout(home));
  home();
}

// typing reports whether a person writes into a field or chooses from a list.
const typing = target => !!target?.matches?.('input, select, textarea');
