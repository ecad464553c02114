import { computed, signal } from '@preact/signals';
import { screenAt } from './screen.ts';

const address = signal(`${location.pathname}${location.search}`);

export const screen = computed(() => screenAt(address.value.split('?')[0]!));
export const query = computed(() => new URLSearchParams(address.value.split('?')[1] ?? ''));

const follow = () => {
  address.value = `${location.pathname}${location.search}`;
};

/** The same screen with other choices; the back button does not stop at each. */
export function choose(changes: Record<string, string | null>): void {
  const next = new URLSearchParams(query.value);
  for (const [key, value] of Object.entries(changes)) {
    if (value === null) next.delete(key);
    else next.set(key, value);
  }
  const search = next.toString();
  history.replaceState(null, '', `${location.pathname}${search === '' ? '' : `?${search}`}`);
  follow();
}

/** A path with the chosen dwelling, where one was chosen. */
export function withDwelling(path: string): string {
  const chosen = query.value.get('dwelling');
  if (chosen === null) return path;
  const [before, after] = path.split('#') as [string, string | undefined];
  const asked = `${before}${before.includes('?') ? '&' : '?'}dwelling=${encodeURIComponent(chosen)}`;
  return after === undefined ? asked : `${asked}#${after}`;
}

/** Follows the back button, and takes clicks on our own links so that the page is not fetched again. */
export function watchAddress(): void {
  addEventListener('popstate', follow);
  document.addEventListener('click', (event) => {
    if (event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey) return;
    const link = event.target instanceof Element ? event.target.closest('a[href^="/"]') : null;
    const href = link?.getAttribute('href');
    if (!href || href.startsWith('/api/') || link?.hasAttribute('download')) return;
    event.preventDefault();
    history.pushState(null, '', href);
    follow();
    scrollTo(0, 0);
    document.getElementById('main')?.focus({ preventScroll: true });
  });
}
