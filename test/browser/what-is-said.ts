import type { Page } from 'playwright-core';
import { plain } from './reader.ts';

/** All that a page says: its text, shown or for those who listen, and what its controls are called. */
const saidOnThePage = `(() => {
  const said = [document.title];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) if (!texts.currentNode.parentElement.closest('script, style, noscript')) said.push(texts.currentNode.data);
  const names = ['aria-label', 'aria-description', 'aria-valuetext', 'title', 'placeholder', 'alt'];
  for (const element of document.querySelectorAll(names.map((name) => '[' + name + ']').join()))
    for (const name of names) said.push(element.getAttribute(name) ?? '');
  for (const whole of document.querySelectorAll('p, li, td, th, dt, dd, h1, h2, h3, figcaption, summary, label'))
    said.push(whole.textContent);
  return said;
})()`;

/** What should never be read, and sentences of another language, in what the page says now. */
export async function slips(page: Page, elsewhere: readonly string[] = []): Promise<string[]> {
  const said = [...new Set(((await page.evaluate(saidOnThePage)) as string[]).map(plain))];
  return said.filter(
    (text) =>
      /\b(NaN|undefined|null|Infinity)\b|\[object /.test(text) || elsewhere.some((sentence) => text.includes(sentence)),
  );
}

/** Elements that reach beyond the right edge of the page, which would have to be scrolled to. */
export const beyond = `(() => {
  const edge = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= edge) return [];
  const scrolls = (one) => one !== null && (getComputedStyle(one).overflowX !== 'visible' || scrolls(one.parentElement));
  const out = [...document.querySelectorAll('body *')].filter(
    (one) => one.getBoundingClientRect().right > edge + 1 && !scrolls(one.parentElement));
  return ['the page is ' + document.documentElement.scrollWidth + ' px wide', ...out.slice(0, 5).map((one) => one.outerHTML.slice(0, 120))];
})()`;
