// SPDX-License-Identifier: MIT
// The panel in the distribution's Chromium, on a simulated bench over real wires: what the panel campaigns share. Needs
// chromium (apt-get install chromium) and the panel's npm packages (npm ci in firmware_host/panel/web). On a crowded machine
// PANEL_SCALE=8 (without: 20 times real speed) leaves the simulated bench the wall time that it needs, and
// PANEL_UNDER="chrt -r 25" keeps simulator and station running beside other work of real-time priority.
'use strict';
const {spawn, spawnSync} = require('node:child_process');
const fs = require('node:fs');
const os = require('node:os');
const net = require('node:net');
const path = require('node:path');

const root = path.resolve(__dirname, '..', '..');
const packages = path.join(root, 'firmware_host/panel/web/node_modules');
const chromiumPath = '/usr/bin/chromium';
if (!fs.existsSync(chromiumPath) || !fs.existsSync(path.join(packages, 'playwright-core'))) {
  console.error('needs /usr/bin/chromium and firmware_host/panel/web/node_modules (see the head of tests/system/panel_browser.cjs)');
  process.exit(2);
}
const {chromium} = require(path.join(packages, 'playwright-core'));
const axe = fs.readFileSync(path.join(packages, 'axe-core/axe.min.js'), 'utf8');
const single = path.join(root, 'sim/demo/units/single-phase-pad-50kva.json');
const three = path.join(root, 'sim/demo/units/three-phase-pad-500kva-dyn1.json');
const benches = {scaled: path.join(root, 'sim/demo/benches/01-scaled.json'), real: path.join(root, 'sim/demo/benches/02-real.json')};
const release = path.join(root, 'build/release/bin');
const work = fs.mkdtempSync(path.join(os.tmpdir(), 'bench-panel-'));
const running = new Set();
const browsers = new Set();

const under = (process.env.PANEL_UNDER ?? '').split(' ').filter((word) => word !== '');

/** Starts a program and gives its first line. */
function start(program, args, options = {}) {
  return new Promise((resolve, reject) => {
    const [first, ...rest] = [...under, program, ...args];
    const child = spawn(first, rest, {stdio: ['ignore', 'pipe', 'pipe'], ...options});
    running.add(child);
    let text = '';
    let words = '';
    child.stderr.on('data', (data) => { words += data; });
    child.stdout.on('data', (data) => {
      text += data;
      if (text.includes('\n')) resolve({child, line: text.split('\n')[0], words: () => words});
    });
    child.on('exit', (code, signal) => { running.delete(child); reject(new Error(`${program} ended with ${code ?? signal}: ${words}`)); });
    child.on('error', reject);
  });
}

function end(child, signal = 'SIGTERM') {
  return new Promise((resolve) => {
    if (child.exitCode !== null || child.signalCode !== null) return resolve();
    child.on('exit', resolve);
    child.kill('SIGCONT');
    child.kill(signal);
  });
}

/** The judge's line of the simulated bench (or the hands'): one JSON object out, one back. */
function ask(address, message) {
  const [host, port] = address.split(':');
  return new Promise((resolve, reject) => {
    const socket = net.connect(Number(port), host, () => socket.write(JSON.stringify(message) + '\n'));
    let text = '';
    socket.on('data', (data) => {
      text += data;
      if (text.includes('\n')) { socket.end(); resolve(JSON.parse(text)); }
    });
    socket.on('error', reject);
  });
}

const serialOf = (unit) => JSON.parse(fs.readFileSync(unit, 'utf8')).serial;

/** One simulated bench and one station on it. */
class Rig {
  constructor(options) {
    this.options = {unit: single, faults: [], scale: Number(process.env.PANEL_SCALE ?? 20), bench: benches.scaled, bin: release, ...options};
    this.folder = fs.mkdtempSync(path.join(work, 'rig-'));
    this.records = this.options.records ?? path.join(this.folder, 'records');
    fs.mkdirSync(this.records, {mode: 0o750, recursive: true});
    this.port = 0;
  }

  static async begin(options = {}) {
    const rig = new Rig(options);
    const {bench, unit, scale, faults} = rig.options;
    // The simulator is the hardware: always the release build, whatever build the station is.
    const simulator = await start(path.join(release, 'benchward-sim'), ['--bench', bench, '--unit', unit, '--time-scale', String(scale), '--seed', '20', ...faults.flatMap((name) => ['--fault', name])]);
    rig.simulator = simulator;
    rig.ready = JSON.parse(simulator.line);
    rig.links = path.join(rig.folder, 'ready.json');
    fs.writeFileSync(rig.links, simulator.line);
    await rig.startStation();
    return rig;
  }

  async startStation() {
    const {bench, bin, unit} = this.options;
    const args = ['station', '--bench', bench, '--records', this.records, '--links', this.links, '--units', this.options.units ?? path.dirname(unit)];
    if (this.port) args.push('--port', String(this.port));
    this.station = await start(path.join(bin, 'benchward'), args, {env: {...process.env, ...this.options.env}});
    const ready = JSON.parse(this.station.line);
    this.url = ready.url;
    this.origin = new URL(ready.url).origin;
    this.port = Number(new URL(ready.url).port);
    const secret = /password (\S+)/.exec(this.station.words());
    if (secret) this.password = secret[1];
  }

  /** Takes effect at the station's next start. */
  addAccount(name, role, password) {
    const done = spawnSync(path.join(release, 'benchward'), ['station', '--records', this.records, '--add-account', name, '--role', role], {input: password + '\n', encoding: 'utf8'});
    if (done.status !== 0) throw new Error(done.stderr);
  }

  control(message) { return ask(this.ready.control, message); }
  hands(message) { return ask(this.ready.hands, message); }
  async truth() { return (await this.control({get: 'truth'})).truth; }

  /** Asks the judge until the bench is as wanted. */
  async until(wanted, what, seconds = 30) {
    for (const begin = Date.now(); Date.now() - begin < seconds * 1000;) {
      const truth = await this.truth();
      if (wanted(truth)) return truth;
      await pause(10);
    }
    throw new Error('never seen on the simulated bench: ' + what);
  }

  /** A session of its own beside the browser, for what no person does. */
  async session() {
    const answer = await fetch(this.origin + '/api/login', {method: 'POST', body: JSON.stringify({name: 'supervisor', password: this.password})});
    if (!answer.ok) throw new Error('log in: ' + answer.status);
    const me = await answer.json();
    const cookie = answer.headers.get('set-cookie').split(';')[0];
    const origin = this.origin;
    return {
      me, cookie,
      async look(where) { return (await fetch(origin + where, {headers: {cookie}})).json(); },
      post(where, data = {}) {
        return fetch(origin + where, {method: 'POST', body: JSON.stringify(data), headers: {cookie, 'X-Bench-Token': me.csrf, 'Content-Type': 'application/json'}});
      },
      async act(where, data = {}) {
        const got = await this.post(where, data);
        if (!got.ok) throw new Error(`${where}: ${got.status} ${await got.text()}`);
      },
      /** Answers questions by their first choice until a snapshot is as wanted. */
      async run(wanted, seconds = 240) {
        for (const begin = Date.now(); Date.now() - begin < seconds * 1000;) {
          const seen = await this.look('/api/snapshot');
          if (wanted(seen)) return seen;
          if (seen.question) await this.post('/api/answer', {number: seen.question.number, answer: seen.question.choices[0] ?? 'as on the plate'});
          await pause(15);
        }
        throw new Error('never seen: ' + wanted);
      },
    };
  }

  async restart() {
    await end(this.station.child);
    await this.startStation();
  }

  async close() {
    await end(this.station.child);
    await end(this.simulator.child);
  }
}

function pause(ms) { return new Promise((resolve) => setTimeout(resolve, ms)); }

/** A browser of its own: its cookies are no other's. */
async function openBrowser(more = {}) {
  const context = await chromium.launchPersistentContext(fs.mkdtempSync(path.join(work, 'browser-')), {
    executablePath: chromiumPath,
    headless: false,  // said below in this Chromium's own words
    args: ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
           '--disable-component-update', '--disable-sync', '--disable-background-timer-throttling', '--disable-renderer-backgrounding',
           '--disable-backgrounding-occluded-windows', ...(more.args ?? [])],
    viewport: more.viewport ?? null,
  });
  browsers.add(context);
  return context;
}

async function closeBrowsers() {
  for (const context of browsers) await context.close().catch(() => undefined);
  browsers.clear();
}

/** Ends what still runs and sweeps up. */
function sweep() {
  for (const child of running) child.kill('SIGKILL');
  fs.rmSync(work, {recursive: true, force: true, maxRetries: 5});
}

module.exports = {Rig, ask, axe, benches, closeBrowsers, end, openBrowser, packages, pause, release, root, serialOf, single, start, sweep, three, work};
