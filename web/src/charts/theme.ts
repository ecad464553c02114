import { effect, signal } from '@preact/signals';
import { preferences } from '../preferences.ts';

/** Grows when the colours of the page change: dark or light, chosen or the device's, or those of the whole system. Charts then draw again. */
export const themeRevision = signal(0);

for (const media of ['(prefers-color-scheme: dark)', '(prefers-contrast: more)', '(forced-colors: active)']) {
  matchMedia(media).addEventListener('change', () => {
    themeRevision.value += 1;
  });
}

// the choice is on the page by then: it was applied when the page began
effect(() => {
  if (preferences.value) themeRevision.value = themeRevision.peek() + 1;
});

export interface Theme {
  readonly paper: string;
  readonly ink: string;
  readonly inkSoft: string;
  readonly hair: string;
  readonly accent: string;
  readonly air: string;
  readonly night: string;
  readonly font: string;
}

/** The colours the stylesheet has in force now. */
export function themeNow(): Theme {
  const style = getComputedStyle(document.documentElement);
  const named = (name: string) => style.getPropertyValue(`--${name}`).trim();
  return {
    paper: named('paper'),
    ink: named('ink'),
    inkSoft: named('ink-soft'),
    hair: named('hair'),
    accent: named('accent'),
    air: named('air'),
    night: named('night'),
    font: named('sans'),
  };
}

/** The names of the colours instead: what is drawn in them is right on the screen and on paper, whatever the reader chose. */
export const namedTheme = (): Theme => ({
  paper: 'var(--paper)',
  ink: 'var(--ink)',
  inkSoft: 'var(--ink-soft)',
  hair: 'var(--hair)',
  accent: 'var(--accent)',
  air: 'var(--air)',
  night: 'var(--night)',
  font: themeNow().font,
});
