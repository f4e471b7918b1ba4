// Every word that the page's script says, in the page's language.
const table = await (await fetch(new URL(`words.${document.documentElement.lang}.json`, import.meta.url))).json();

// say gives a sentence with its values put in. One that counts n may have a
// form of its own for one.
export function say(key, values = {}) {
  const text = values.n === 1 && table[key + '_one'] || table[key] || key;
  return text.replace(/\{(\w+)\}/g, (_, name) => values[name] ?? '');
}

// clock is a time of day, as the other pages write it.
export const clock = t => new Date(t).toLocaleTimeString(document.documentElement.lang, {hour: '2-digit', minute: '2-digit', hourCycle: 'h23'});
