import { render } from 'preact';
import { watchAddress } from './address.ts';
import { App } from './app.tsx';
import { keepPage } from './offline/register.ts';
import { applyPreferences } from './preferences.ts';
import './style/paper.css';

applyPreferences();
watchAddress();
const page = document.getElementById('page');
if (page !== null) render(<App />, page);
void keepPage();
