// SPDX-License-Identifier: MIT
import {useEffect, useState} from 'preact/hooks';
import {AreaBand} from './area';
import {watchKeys} from './keys';
import type {Me} from './snapshot';
import {Refused, Station, act, known, look, type Heard} from './station';
import {BenchRoom} from './views/bench';
import {Instruments} from './views/instruments';
import {Limits} from './views/limits';
import {Login} from './views/login';
import {Records} from './views/records';
import {Shift} from './views/shift';
import {languageNames, said, wordsOf} from './words';

type Room = 'bench' | 'shift' | 'instruments' | 'records' | 'limits';

function stored(key: string, absent: string): string {
  try {
    return window.localStorage.getItem(key) ?? absent;
  } catch {
    return absent;
  }
}

export function App() {
  const [heard, setHeard] = useState<Heard>({snapshot: null, fresh: false});
  const [me, setMe] = useState<Me | null | undefined>(undefined);
  const [room, setRoom] = useState<Room>('bench');
  const [language, setLanguage] = useState(stored('language', 'en'));
  const [refused, setRefused] = useState('');
  const words = wordsOf(language);

  useEffect(() => {
    look<Me>('/api/me').then((someone) => setMe(known(someone)), () => setMe(known(null)));
  }, []);
  useEffect(() => {
    if (!me) return undefined;
    const station = new Station(setHeard, () => setMe(known(null)));
    return () => station.close();
  }, [me?.panel]);
  useEffect(() => watchKeys(), []);
  useEffect(() => {
    document.documentElement.lang = language;
    try {
      window.localStorage.setItem('language', language);
    } catch {
      // A browser without storage keeps the language for this page only.
    }
  }, [language]);

  // What was not done is said until something else happens, and ten seconds at most.
  const happened = `${heard.snapshot?.run?.unit.serial}/${heard.snapshot?.run?.phase}/${heard.snapshot?.run?.way}/${heard.snapshot?.question?.number}/${room}`;
  useEffect(() => setRefused(''), [happened]);
  useEffect(() => {
    if (!refused) return undefined;
    const timer = window.setTimeout(() => setRefused(''), 10000);
    return () => window.clearTimeout(timer);
  }, [refused]);

  // What must be done next is never left above the window's edge.
  const shownNow = `${heard.snapshot?.guard.state === 'tripped'}/${heard.snapshot?.run?.phase}/${heard.snapshot?.question?.number}/${room}`;
  useEffect(() => window.scrollTo(0, 0), [shownNow]);

  const say = (path: string, body: object = {}) => {
    setRefused('');
    return act(path, body).catch((error: unknown) => {
      if (error instanceof Refused && error.status === 401) setMe(known(null));
      setRefused(error instanceof Error ? error.message : String(error));
    });
  };
  const snapshot = heard.snapshot;
  const holding = !!me && snapshot?.holder_panel === me.panel;
  const mayTake = heard.fresh && me?.role !== 'watcher';
  const rooms: [Room, string][] = [
    ['bench', words.roomBench], ['shift', words.roomShift], ['instruments', words.roomInstruments],
    ['records', words.roomRecords], ['limits', words.roomLimits],
  ];

  if (me === undefined) return <main class="waiting" aria-busy="true" />;
  return (
    <div class={heard.fresh || !me ? 'panel' : 'panel stale'}>
      <AreaBand heard={heard} words={words} mayStop={mayTake && !!me && snapshot?.run !== null && snapshot?.run !== undefined && snapshot.run.phase !== 'ended' && snapshot.run.phase !== 'identified'}
        onStop={() => void say('/api/stop')} />
      {me ? (
        <>
          <nav aria-label={words.rooms}>
            {rooms.map(([key, name]) => (
              <button type="button" key={key} aria-current={room === key ? 'page' : undefined} onClick={() => setRoom(key)}>{name}</button>
            ))}
            <span class="who">
              {holding
                ? <button type="button" onClick={() => void say('/api/controls/release')}>{words.handOver}</button>
                : <button type="button" disabled={!mayTake} onClick={() => void say('/api/controls/take', {from_another: !!snapshot?.holder_panel})}>{snapshot?.holder_panel ? words.takeFrom : words.take}</button>}
              <span class="holder">{words.held}<b>{snapshot?.holder ?? words.nobody}</b></span>
              <label>
                <select aria-label={words.language} value={language} onChange={(event) => setLanguage(event.currentTarget.value)}>
                  {languageNames().map(([key, name]) => <option key={key} value={key}>{name}</option>)}
                </select>
              </label>
              <button type="button" onClick={() => void say('/api/logout').then(() => setMe(known(null)))}>{words.leave}</button>
            </span>
          </nav>
          {snapshot?.closed && <p class="refused" role="alert">{snapshot.closed}</p>}
          {refused && <p class="refused" role="alert">{words.refused} {said(words, refused)}</p>}
          <main>
            {!heard.fresh && snapshot && <p class="history" role="alert">{words.history} {snapshot.now.slice(11, 19)} UTC</p>}
            {room === 'bench' && <BenchRoom heard={heard} me={me} words={words} holding={holding} say={say} />}
            {room === 'shift' && <Shift heard={heard} words={words} />}
            {room === 'instruments' && <Instruments words={words} />}
            {room === 'records' && <Records words={words} />}
            {room === 'limits' && <Limits heard={heard} words={words} />}
          </main>
        </>
      ) : (
        <main><Login words={words} onIn={(someone) => setMe(known(someone))} /></main>
      )}
      <footer>{words.notSafety}{me ? ` · ${words.keyHelp}` : ''}</footer>
    </div>
  );
}
