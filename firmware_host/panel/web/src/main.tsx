// SPDX-License-Identifier: MIT
import {render} from 'preact';
import 'uplot/dist/uPlot.min.css';
import './panel.css';
import {App} from './app';

const root = document.getElementById('panel');
if (root) render(<App />, root);
