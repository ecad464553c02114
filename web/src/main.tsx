import { render } from 'preact';
import { watchAddress } from './address.ts';
import { askEarly, choicesAsked } from './api/early.ts';
import { keepPage } from './offline/register.ts';
import { applyPreferences, preferences } from './preferences.ts';
import { readerTag, speak } from './words/spoken.ts';
import './style/paper.css';

/** Keeping the page on the device reads every file of it: not while the first screen is on its way. */
const KEEP_AFTER_MS = 2000;

applyPreferences();
watchAddress();
askFirst().catch(() => undefined);
void show();
addEventListener('load', () => setTimeout(keepPage, KEEP_AFTER_MS));

/** What the first screen asks for, one after the other, while its scripts are still on their way. */
async function askFirst(): Promise<void> {
  const choices = choicesAsked(new URLSearchParams(location.search).get('dwelling'));
  const query = Object.entries(choices).map(([name, value]) => [name, String(value)]);
  const answer = await askEarly(`/api/v1/dwellings?${new URLSearchParams(query)}`);
  if (!answer.ok || location.pathname !== '/' || location.search !== '') return;
  const [home] = (await answer.clone().json()) as readonly { readonly slug: string }[];
  if (home !== undefined) askEarly(`/api/v1/dwellings/${encodeURIComponent(home.slug)}/now`);
}

/** Words first: whatever speaks finds them there when it is loaded, so that nothing is ever shown in another language. */
async function show(): Promise<void> {
  const tag = readerTag(preferences.value.language);
  document.documentElement.lang = tag;
  await speak(tag);
  const { App } = await import('./app.tsx');
  const page = document.getElementById('page');
  if (page !== null) render(<App />, page);
}
