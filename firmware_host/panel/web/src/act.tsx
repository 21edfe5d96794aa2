// SPDX-License-Identifier: MIT
// A button that acts on the bench. What stood here a moment ago may have been meant: for half a second after it appears,
// and for the second click of a double click, it does nothing; and nothing twice while the station has not answered.
import type {ComponentChildren} from 'preact';
import {useRef} from 'preact/hooks';

const settleMs = 500;

export function Act({children, disabled, large, onAct}: {children: ComponentChildren; disabled: boolean; large: boolean; onAct: () => Promise<unknown>}) {
  const notBefore = useRef(performance.now() + settleMs);
  const asking = useRef(false);
  const click = (event: MouseEvent) => {
    if (asking.current || event.detail > 1 || performance.now() < notBefore.current) return;
    asking.current = true;
    void onAct().finally(() => {
      asking.current = false;
      notBefore.current = performance.now() + settleMs;
    });
  };
  return <button type="button" class={large ? 'next-act' : ''} disabled={disabled} onClick={click}>{children}</button>;
}
