// The alarm of this device: tones on the audio clock, set ahead when a step is started (a page that sleeps
// keeps them), a shake where there is one, and the screen kept on. None of it is the only alarm: the computer
// that serves sounds too (GET /api/v1/timers says what it can).
let audio: AudioContext | undefined;
const planned = new Map<string, OscillatorNode[]>();
let lock: WakeLockSentinel | undefined;
let wantsLock = false;

/** Must be called inside a tap, before anything is awaited: browsers give sound only then. */
export function soundOn(): void {
  audio ??= new AudioContext();
  void audio.resume();
}

export const hasSound = (): boolean => audio?.state === 'running';

function tone(at: number): OscillatorNode | undefined {
  if (!audio) return undefined;
  const source = audio.createOscillator();
  const level = audio.createGain();
  source.type = 'triangle';
  source.frequency.value = 880;
  level.gain.setValueAtTime(0.0001, at);
  level.gain.exponentialRampToValueAtTime(0.5, at + 0.02);
  level.gain.exponentialRampToValueAtTime(0.0001, at + 0.45);
  source.connect(level).connect(audio.destination);
  source.start(at);
  source.stop(at + 0.5);
  return source;
}

/** Six tones from `leftS` on; what was set for this run before is dropped. */
export function setAlarm(run: string, leftS: number): void {
  dropAlarm(run);
  if (!audio || leftS < 0) return;
  const from = audio.currentTime + leftS;
  const tones = [0, 0.7, 1.4, 3, 3.7, 4.4].map((after) => tone(from + after)).filter((one) => one !== undefined);
  planned.set(run, tones);
}

export function dropAlarm(run: string): void {
  for (const one of planned.get(run) ?? []) {
    try {
      one.stop();
    } catch {
      // it had ended
    }
  }
  planned.delete(run);
}

export const isSet = (run: string): boolean => planned.has(run);

export function tryAlarm(): void {
  soundOn();
  if (audio) tone(audio.currentTime + 0.05);
  navigator.vibrate?.(200);
}

export function shake(): void {
  navigator.vibrate?.([300, 150, 300, 150, 300]);
}

async function takeLock(): Promise<void> {
  if (!wantsLock || lock || document.visibilityState !== 'visible' || !('wakeLock' in navigator)) return;
  try {
    lock = await navigator.wakeLock.request('screen');
    lock.addEventListener('release', () => (lock = undefined));
  } catch {
    lock = undefined; // low battery, or not allowed: the text says so
  }
}

/** Keeps the screen on, where that is possible. */
export function keepAwake(wants: boolean): void {
  wantsLock = wants;
  if (wants) void takeLock();
  else void lock?.release();
}

document.addEventListener('visibilitychange', () => void takeLock());

export const isAwake = (): boolean => lock !== undefined;
