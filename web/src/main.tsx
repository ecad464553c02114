import { render } from 'preact';
import { watchAddress } from './address.ts';
import { keepPage } from './offline/register.ts';
import { applyPreferences, preferences } from './preferences.ts';
import { readerTag, speak } from './words/spoken.ts';
import './style/paper.css';
import './style/print.css';
import './style/forced-colours.css';

/** Keeping the page on the device reads every file of it: not while the first screen is on its way. */
const KEEP_AFTER_MS = 2000;

applyPreferences();
watchAddress();
void show();
addEventListener('load', () => setTimeout(keepPage, KEEP_AFTER_MS));

/** Words first: whatever speaks finds them there when it is loaded, so that nothing is ever shown in another language. */
async function show(): Promise<void> {
  const tag = readerTag(preferences.value.language);
  document.documentElement.lang = tag;
  await speak(tag);
  const { App } = await import('./app.tsx');
  const page = document.getElementById('page');
  if (page !== null) render(<App />, page);
}
