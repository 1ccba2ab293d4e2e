import { render } from 'preact';
import { App } from './app';
import { showTheme } from './settings';
import './style.css';
import { start } from './sync';

showTheme();
history.replaceState('first', '');
render(<App />, document.getElementById('page')!);
void start();
