// The marks: small doors and tools, drawn in the colour of the text. Each stands beside words that say the
// same, so screen readers pass over them.
import type { ComponentChildren } from 'preact';
import type { Due, LotBrief } from '../api';

function Mark({ children }: { children: ComponentChildren }) {
  return (
    <svg class="mark" viewBox="0 0 32 32" width="32" height="32" aria-hidden="true" focusable="false">
      {children}
    </svg>
  );
}

const frame = <path class="ink" d="M6 29V3h20v26" />;

/** A door ajar: it may go. */
export const DoorOpen = () => <Mark>{frame}<path class="solid" d="M6 3l12 5v24L6 29z" /></Mark>;
/** A closed door: not yet. */
export const DoorShut = () => <Mark>{frame}<path class="ink" d="M6 29h20" /><circle class="solid" cx="21" cy="17" r="2.2" /></Mark>;
/** A door with a bar across: on hold. */
export const DoorBarred = () => <Mark>{frame}<path class="ink" d="M6 29h20" /><path class="bar" d="M1 12h30v8H1z" /></Mark>;
/** A leaf: it lives here. */
export const Leaf = () => <Mark><path class="ink" d="M5 27C5 13 13 5 27 5c0 14-8 22-22 22z" /><path class="ink" d="M5 27L18 14" /></Mark>;
/** Running water. */
export const Sink = () => <Mark><path class="ink" d="M4 17h24v4q0 7-7 7H11q-7 0-7-7z" /><path class="ink" d="M9 4v7M16 4v9M23 4v7" /></Mark>;
/** A box with its lid off. */
export const Box = () => <Mark><path class="ink" d="M6 14h20v15H6z" /><path class="ink" d="M3 10L27 4" /></Mark>;
/** An eye. */
export const Eye = () => <Mark><path class="ink" d="M2 16q14-17 28 0q-14 17-28 0z" /><circle class="solid" cx="16" cy="16" r="4.5" /></Mark>;
/** A clock. */
export const Clock = () => <Mark><circle class="ink" cx="16" cy="16" r="12" /><path class="ink" d="M16 9v7l5 4" /></Mark>;
/** Two lines that cross. */
export const Crossed = () => <Mark><path class="ink" d="M5 9h22M5 23h22M8 27L24 5" /></Mark>;

export function DueMark({ kind }: { kind: Due['kind'] }) {
  switch (kind) {
    case 'hold': return <DoorBarred />;
    case 'step': return <Clock />;
    case 'prep': return <Sink />;
    case 'place': return <Box />;
    case 'look': return <Eye />;
    case 'claim': return <Clock />;
    case 'release': return <DoorOpen />;
    case 'away': return <Clock />;
    case 'upkeep':
    case 'trim': return <Leaf />;
    case 'conflict': return <Crossed />;
  }
}

export function LotMark({ lot }: { lot: Pick<LotBrief, 'phase' | 'is_open'> }) {
  if (lot.phase === 'held') return <DoorBarred />;
  if (lot.phase === 'established') return <Leaf />;
  if (lot.is_open) return <DoorOpen />;
  return lot.phase === 'arrived' ? <Sink /> : <DoorShut />;
}
