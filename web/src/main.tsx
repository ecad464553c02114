import { render } from 'preact';
import { watchAddress } from './address.ts';
import { App } from './app.tsx';
import './style/paper.css';

watchAddress();
const page = document.getElementById('page');
if (page !== null) render(<App />, page);
