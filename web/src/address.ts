import { computed, signal } from '@preact/signals';

/** The screens, as the address bar names them. */
export type Screen =
  | { readonly kind: 'section' }
  | { readonly kind: 'place'; readonly id: number }
  | { readonly kind: 'before-after' }
  | { readonly kind: 'loft' }
  | { readonly kind: 'diary' }
  | { readonly kind: 'sensors' }
  | { readonly kind: 'nowhere' };

const address = signal(`${location.pathname}${location.search}`);

/** Which screen a path names. */
export function screenAt(path: string): Screen {
  const [first = '', second, ...rest] = path.split('/').filter((part) => part !== '');
  if (rest.length > 0) return { kind: 'nowhere' };
  if (first === 'place' && second !== undefined && /^[1-9]\d*$/.test(second))
    return { kind: 'place', id: Number(second) };
  if (second !== undefined) return { kind: 'nowhere' };
  if (first === '') return { kind: 'section' };
  if (first === 'before-after' || first === 'loft' || first === 'diary' || first === 'sensors') return { kind: first };
  return { kind: 'nowhere' };
}

export const screen = computed(() => screenAt(address.value.split('?')[0]!));
export const query = computed(() => new URLSearchParams(address.value.split('?')[1] ?? ''));

const follow = () => {
  address.value = `${location.pathname}${location.search}`;
};

/** Goes to a path of ours; the chosen dwelling stays in the address. */
export function go(path: string): void {
  history.pushState(null, '', withDwelling(path));
  follow();
  scrollTo(0, 0);
}

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
  return `${path}${path.includes('?') ? '&' : '?'}dwelling=${encodeURIComponent(chosen)}`;
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
