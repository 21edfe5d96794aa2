// SPDX-License-Identifier: MIT
// The link to the station: snapshots in, acts out. A panel that has heard nothing for a second knows nothing.
import type {Me, Snapshot} from './snapshot';

export interface Heard {
  snapshot: Snapshot | null;
  /** False as soon as the station has been silent for a second: what stands in `snapshot` is then history. */
  fresh: boolean;
}

const silenceMs = 750;  // the station speaks every 300 ms at least; a quarter of the second is left to say it

export class Station {
  private socket: WebSocket | null = null;
  private heard: Heard = {snapshot: null, fresh: false};
  private lastMs = 0;
  private closed = false;
  private readonly timer: number;

  /** `out`: the station no longer knows this panel (it was restarted, or the session ran out): log in again. */
  constructor(private readonly tell: (heard: Heard) => void, private readonly out: () => void) {
    this.open();
    this.timer = window.setInterval(() => this.watch(), 50);
  }

  private open(): void {
    if (this.closed) return;
    const scheme = location.protocol === 'https:' ? 'wss' : 'ws';
    const socket = new WebSocket(`${scheme}://${location.host}/events`);
    this.socket = socket;
    socket.onmessage = (event: MessageEvent<string>) => {
      this.lastMs = performance.now();
      this.heard = {snapshot: JSON.parse(event.data) as Snapshot, fresh: true};
      this.tell(this.heard);
    };
    socket.onclose = () => {
      if (this.socket !== socket) return;
      this.socket = null;
      this.forget();
      window.setTimeout(() => void this.again(), 500);
    };
  }

  private async again(): Promise<void> {
    if (this.closed) return;
    try {
      await look('/api/me');
      this.open();
    } catch (error: unknown) {
      if (this.closed) return;
      if (error instanceof Refused && error.status === 401) this.out();
      else window.setTimeout(() => void this.again(), 500);
    }
  }

  private watch(): void {
    if (this.heard.fresh && performance.now() - this.lastMs > silenceMs) this.forget();
  }

  private forget(): void {
    if (!this.heard.fresh) return;
    this.heard = {...this.heard, fresh: false};
    this.tell(this.heard);
  }

  close(): void {
    this.closed = true;
    window.clearInterval(this.timer);
    this.socket?.close();
  }
}

export class Refused extends Error {
  constructor(readonly status: number, words: string) {
    super(words);
  }
}

async function call(path: string, init: RequestInit): Promise<unknown> {
  let answer: Response;
  try {
    answer = await fetch(path, {...init, credentials: 'same-origin', cache: 'no-store'});
  } catch {
    throw new Refused(0, 'no answer from the station');
  }
  const text = await answer.text();
  let body: unknown = null;
  try {
    body = text ? JSON.parse(text) : null;
  } catch {
    body = null;
  }
  if (!answer.ok) {
    const words = body && typeof body === 'object' && 'error' in body ? String((body as {error: unknown}).error) : answer.statusText;
    throw new Refused(answer.status, words);
  }
  return body;
}

export function look<T>(path: string): Promise<T> {
  return call(path, {method: 'GET'}) as Promise<T>;
}

let csrf = '';

export function act<T = unknown>(path: string, body: object = {}): Promise<T> {
  return call(path, {
    method: 'POST',
    headers: {'Content-Type': 'application/json', 'X-Bench-Token': csrf},
    body: JSON.stringify(body),
  }) as Promise<T>;
}

export function known(me: Me | null): Me | null {
  csrf = me?.csrf ?? '';
  return me;
}
