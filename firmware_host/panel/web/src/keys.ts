// SPDX-License-Identifier: MIT
// Keyboard and scanner. A scanner is a keyboard that types a serial and presses Enter, whatever has the focus: outside a
// field its Enter must never press the button that happens to have the focus.
const scannerMs = 250;  // between the last character and Enter: scanners send both within milliseconds

function isField(target: EventTarget | null): boolean {
  return target instanceof HTMLInputElement || target instanceof HTMLSelectElement;
}

/** Goes on until the returned function is called. */
export function watchKeys(): () => void {
  let lastCharacter = Number.NEGATIVE_INFINITY;
  const down = (event: KeyboardEvent) => {
    if (event.key === 'F2') {
      // To the next act, which still has to be pressed.
      document.querySelector<HTMLElement>('main input:not([disabled]), main .next-act:not([disabled])')?.focus();
      event.preventDefault();
      return;
    }
    if (isField(event.target)) return;
    const scanned = event.timeStamp - lastCharacter < scannerMs;
    const pressing = event.key === 'Enter' || event.key === ' ';
    if (pressing && (scanned || event.repeat)) {
      event.preventDefault();
      event.stopPropagation();
    }
    if (event.key.length === 1 && event.key !== ' ' && !event.ctrlKey && !event.altKey && !event.metaKey) {
      lastCharacter = event.timeStamp;
      // Where a serial is waited for it goes into the field, whatever had the focus; this character too.
      document.querySelector<HTMLInputElement>('main input.serial:not([disabled])')?.focus();
    }
  };
  window.addEventListener('keydown', down, true);
  return () => window.removeEventListener('keydown', down, true);
}
