// SPDX-License-Identifier: MIT
import {useState} from 'preact/hooks';
import type {Me} from '../snapshot';
import {Refused, act} from '../station';
import type {Words} from '../words';

export function Login({words, onIn}: {words: Words; onIn: (me: Me) => void}) {
  const [name, setName] = useState('');
  const [password, setPassword] = useState('');
  const [wrong, setWrong] = useState('');
  const [busy, setBusy] = useState(false);
  const submit = (event: Event) => {
    event.preventDefault();
    if (busy) return;
    setBusy(true);
    act<Me>('/api/login', {name, password}).then(onIn, (error: unknown) => {
      setWrong(error instanceof Refused && error.status === 429 ? words.waitLogin : error instanceof Refused && error.status === 0 ? error.message : words.wrongLogin);
      setPassword('');
      setBusy(false);
    });
  };
  return (
    <form class="card login" onSubmit={submit} aria-labelledby="login-title">
      <h1 id="login-title">{words.login}</h1>
      <label>{words.name}<input name="name" autocomplete="username" maxLength={40} value={name} onInput={(event) => setName(event.currentTarget.value)} required autofocus /></label>
      <label>{words.password}<input name="password" type="password" autocomplete="current-password" maxLength={200} value={password} onInput={(event) => setPassword(event.currentTarget.value)} required /></label>
      {wrong && <p class="refused" role="alert">{wrong}</p>}
      <button type="submit" class="next-act" disabled={busy}>{words.enter}</button>
    </form>
  );
}
