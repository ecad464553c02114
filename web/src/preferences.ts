import { effect, signal } from '@preact/signals';

/** What a reader chose for this browser. It is kept here and nowhere else; the home's own settings are in the program. */
export interface Preferences {
  /** of all temperatures and differences of temperature */
  readonly temperature: 'celsius' | 'fahrenheit';
  /** of texts, and how numbers and dates are written: a BCP 47 tag; browser: as the browser asks for */
  readonly language: 'browser' | 'en-GB' | 'en-US' | 'de-DE' | 'de-AT' | 'de-CH';
  readonly theme: 'automatic' | 'light' | 'dark';
  readonly contrast: 'automatic' | 'more';
}

export const choices = {
  temperature: ['celsius', 'fahrenheit'],
  language: ['browser', 'en-GB', 'en-US', 'de-DE', 'de-AT', 'de-CH'],
  theme: ['automatic', 'light', 'dark'],
  contrast: ['automatic', 'more'],
} as const satisfies { readonly [K in keyof Preferences]: readonly Preferences[K][] };

const usual: Preferences = { temperature: 'celsius', language: 'browser', theme: 'automatic', contrast: 'automatic' };
const KEY = 'coomb.preferences';

/** What was kept, as far as it still means something. */
export function readPreferences(text: string | null): Preferences {
  let kept: unknown = null;
  try {
    kept = JSON.parse(text ?? 'null');
  } catch {
    // not ours, or broken: as if nothing had been chosen
  }
  if (typeof kept !== 'object' || kept === null) return usual;
  const known = Object.entries(kept).filter(
    ([key, value]) =>
      Object.hasOwn(choices, key) && (choices as Readonly<Record<string, readonly unknown[]>>)[key]!.includes(value),
  );
  return { ...usual, ...Object.fromEntries(known) };
}

/** A browser may forbid a page to keep anything. */
function stored(): Storage | null {
  try {
    return typeof localStorage === 'undefined' ? null : localStorage;
  } catch {
    return null;
  }
}

export const preferences = signal<Preferences>(readPreferences(stored()?.getItem(KEY) ?? null));

export function prefer(change: Partial<Preferences>): void {
  preferences.value = { ...preferences.value, ...change };
  try {
    stored()?.setItem(KEY, JSON.stringify(preferences.value));
  } catch {
    // full or forbidden: the choice holds until the page is left
  }
}

/** Lets the stylesheet know what was chosen, now and whenever that changes; another window of the page follows. */
export function applyPreferences(): void {
  const root = document.documentElement;
  effect(() => {
    const { theme, contrast } = preferences.value;
    root.dataset.theme = theme;
    root.dataset.contrast = contrast;
  });
  addEventListener('storage', (event) => {
    if (event.key === KEY) preferences.value = readPreferences(event.newValue);
  });
}
