import { signal } from '@preact/signals';

/** Whether a newer version of the page waits to be taken. */
export const newerWaits = signal(false);
/** Whether this page is kept on the device. */
export const isKept = signal(false);

const LOOK_MS = 60 * 60_000;
let waiting: ServiceWorker | null = null;

/** Lets the page be kept on this device, where the browser allows it. Nothing reloads by itself. */
export async function keepPage(): Promise<void> {
  if (!('serviceWorker' in navigator) || !import.meta.env.PROD) return;
  try {
    const registration = await navigator.serviceWorker.register('/sw.js');
    const offer = (worker: ServiceWorker | null): void => {
      // the very first has no page to surprise
      if (worker === null || navigator.serviceWorker.controller === null) return;
      waiting = worker;
      newerWaits.value = true;
    };
    offer(registration.waiting);
    registration.addEventListener('updatefound', () => {
      const { installing } = registration;
      installing?.addEventListener('statechange', () => {
        if (installing.state === 'installed') offer(installing);
      });
    });
    setInterval(() => void registration.update().catch(() => undefined), LOOK_MS);
    await navigator.serviceWorker.ready;
    isKept.value = true;
  } catch {
    // not allowed here: the page works as long as the program can be reached
  }
}

/** Takes the newer version: the page is loaded anew, because its reader asked for it. */
export function takeNewer(): void {
  navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
  waiting?.postMessage('take-over');
}
