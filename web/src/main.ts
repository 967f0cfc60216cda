// The door: takes the token out of the address and puts the app on the page.

import '@fontsource-variable/eb-garamond/wght.css';
import '@fontsource-variable/eb-garamond/wght-italic.css';
import '@fontsource-variable/source-sans-3/wght.css';
import './style/tokens.css';
import './style/base.css';
import './style/drawn.css';
import './style/print.css';
import { mount } from 'svelte';
import { takeToken } from './api/client';
import App from './App.svelte';
import { settlePaper } from './parts/paper.svelte';
import { href } from './route.svelte';

const project = takeToken();
if (project) history.replaceState(null, '', href({ name: 'page', id: project, left: 'rows' }));
settlePaper();
mount(App, { target: document.getElementById('app')! });
