// Where the interface starts.
import { render } from 'preact';
import { startPolling } from './answer';
import { App } from './app';
import { startQueue } from './record/queue';
import { startRouter } from './router';
import { takeKey, takeWishOfAddress } from './session';
import { applyTheme, theme } from './theme';

applyTheme(theme());
const key = takeKey();
const wish = takeWishOfAddress();
startRouter();
startPolling();
startQueue();
const root = document.getElementById('app');
if (root) render(<App signInKey={key} wish={wish} />, root);
