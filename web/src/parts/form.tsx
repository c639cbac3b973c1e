// Parts of forms: a label with its unit that is always seen, text that is never lost, errors below the field
// they are about and linked to it. Numbers may have a comma or a point.
import type { ComponentChildren } from 'preact';
import { useEffect, useId, useRef, useState } from 'preact/hooks';
import { moment, nowMs } from '../record/event';
import { S, t, tn } from '../strings.en';

const F = S.recording.form;

export type Problems = Readonly<Record<string, string | undefined>>;

interface Common {
  label: string;
  hint?: string | undefined;
  unit?: string | undefined; // is said in the label
  problem?: string | undefined;
  isOptional?: boolean;
}

/** A label, its field, a hint and an error; `children` gets what ties them together. */
export function Field({ label, hint, unit, problem, isOptional, children }: Common & {
  children: (ties: { id: string; 'aria-describedby'?: string; 'aria-invalid'?: 'true' }) => ComponentChildren;
}) {
  const id = useId();
  const ids = [hint ? `${id}h` : '', problem ? `${id}p` : ''].filter(Boolean).join(' ');
  return (
    <div class={problem ? 'field has-problem' : 'field'}>
      <label for={id}>
        {label}{unit && ` (${unit})`}{isOptional && <span class="quiet"> · {F.optional}</span>}
      </label>
      {hint && <p class="quiet" id={`${id}h`}>{hint}</p>}
      {children({ id, ...(ids ? { 'aria-describedby': ids } : {}), ...(problem ? { 'aria-invalid': 'true' as const } : {}) })}
      {problem && <p class="problem" id={`${id}p`}>{problem}</p>}
    </div>
  );
}

export function TextField({ value, onValue, list, suggestions, isDigits, ...rest }: Common & {
  value: string;
  onValue: (value: string) => void;
  isDigits?: boolean; // the keys that a phone offers
  list?: string;
  suggestions?: readonly string[]; // offered while typing; anything else may be typed
}) {
  const own = useId();
  const listId = list ?? (suggestions ? `${own}l` : undefined);
  return (
    <Field {...rest}>
      {(ties) => (
        <>
          <input type="text" autocomplete="off" {...(isDigits ? { inputMode: 'numeric' as const } : {})} {...ties} {...(listId ? { list: listId } : {})} value={value} onInput={(event) => onValue(event.currentTarget.value)} />
          {suggestions && <datalist id={`${own}l`}>{suggestions.map((one) => <option key={one} value={one} />)}</datalist>}
        </>
      )}
    </Field>
  );
}

export function LongField({ value, onValue, rows = 4, ...rest }: Common & { value: string; onValue: (value: string) => void; rows?: number }) {
  return (
    <Field {...rest}>
      {(ties) => <textarea rows={rows} {...ties} value={value} onInput={(event) => onValue(event.currentTarget.value)} />}
    </Field>
  );
}

/** A number as it is typed; read it with readNumber when it is needed. */
export function NumberField({ value, onValue, isWhole, ...rest }: Common & { value: string; onValue: (value: string) => void; isWhole?: boolean }) {
  return (
    <Field {...rest}>
      {(ties) => (
        <input type="text" class="number" inputMode={isWhole ? 'numeric' : 'decimal'} autocomplete="off" {...ties} value={value} onInput={(event) => onValue(event.currentTarget.value)} />
      )}
    </Field>
  );
}

/** The number of a typed text: comma or point; or what is wrong with it, in words. Empty: undefined. */
export function readNumber(
  text: string,
  { least, most, isWhole = false }: { least?: number; most?: number; isWhole?: boolean } = {},
): { value: number | undefined; problem?: string } {
  const typed = text.trim();
  if (typed === '') return { value: undefined };
  const plain = typed.replace(/[  ]/g, '').replace(',', '.').replace('−', '-');
  if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain)) return { value: undefined, problem: t(F.notNumber, { text: typed }) };
  const value = Number(plain);
  if (isWhole && !Number.isInteger(value)) return { value: undefined, problem: t(F.notWhole, { value: typed }) };
  if (least !== undefined && value < least) return { value: undefined, problem: t(F.tooLow, { value: typed, least }) };
  if (most !== undefined && value > most) return { value: undefined, problem: t(F.tooHigh, { value: typed, most }) };
  return { value };
}

export interface Option<T extends string> {
  value: T;
  label: string;
  about?: string | undefined;
  group?: string;
}

export function SelectField<T extends string>({ value, onValue, options, empty, ...rest }: Common & {
  value: T | '';
  onValue: (value: T) => void;
  options: readonly Option<T>[];
  empty?: string; // what stands there while nothing is chosen
}) {
  const groups = [...new Set(options.map((one) => one.group ?? ''))];
  const list = (group: string) => options.filter((one) => (one.group ?? '') === group).map((one) => <option key={one.value} value={one.value}>{one.label}</option>);
  return (
    <Field {...rest}>
      {(ties) => (
        <select {...ties} value={value} onChange={(event) => onValue(event.currentTarget.value as T)}>
          {empty !== undefined && <option value="">{empty}</option>}
          {groups.map((group) => (group ? <optgroup key={group} label={group}>{list(group)}</optgroup> : list(group)))}
        </select>
      )}
    </Field>
  );
}

/** One of a few, all seen at once: a tap chooses. */
export function ChoiceField<T extends string>({ label, hint, problem, value, onValue, options, isBig }: Common & {
  value: T | '';
  onValue: (value: T) => void;
  options: readonly Option<T>[];
  isBig?: boolean; // 72 px, for the sink
}) {
  const id = useId();
  const ids = [hint ? `${id}h` : '', problem ? `${id}p` : ''].filter(Boolean).join(' ');
  return (
    <fieldset class={`choices${isBig ? ' big' : ''}${problem ? ' has-problem' : ''}`} {...(ids ? { 'aria-describedby': ids } : {})}>
      <legend>{label}</legend>
      {hint && <p class="quiet" id={`${id}h`}>{hint}</p>}
      <div class="choice-row">
        {options.map((one) => (
          <label key={one.value} class="choice">
            <input type="radio" name={id} value={one.value} checked={one.value === value} onChange={() => onValue(one.value)} />
            <span>{one.label}{one.about && <small>{one.about}</small>}</span>
          </label>
        ))}
      </div>
      {problem && <p class="problem" id={`${id}p`}>{problem}</p>}
    </fieldset>
  );
}

export function CheckField({ label, about, isChecked, onChecked }: { label: string; about?: string | undefined; isChecked: boolean; onChecked: (is: boolean) => void }) {
  return (
    <label class="choice check">
      <input type="checkbox" checked={isChecked} onChange={(event) => onChecked(event.currentTarget.checked)} />
      <span>{label}{about && <small>{about}</small>}</span>
    </label>
  );
}

/** When it happened: now, or a day and time that may be left vague. `value` is '' for now. */
export function WhenField({ value, onValue }: { value: string; onValue: (occurredAt: string) => void }) {
  const typed = value === '' ? '' : value.slice(0, 16);
  return (
    <details class="when" open={value !== ''}>
      <summary>{F.when}: {value === '' ? F.now : typed.replace('T', ' ')}</summary>
      <Field label={F.whenField} isOptional>
        {(ties) => (
          <input
            type="datetime-local"
            {...ties}
            value={typed}
            max={moment(nowMs()).slice(0, 16)}
            onInput={(event) => {
              const text = event.currentTarget.value;
              onValue(text === '' ? '' : moment(new Date(text).getTime()));
            }}
          />
        )}
      </Field>
    </details>
  );
}

/** A form that keeps what was typed: `onSubmit` gives the problems found (none: it was recorded); the first
 *  field with a problem gets the focus. */
export function Form({ onSubmit, submit = F.record, children, isBig }: {
  onSubmit: () => Problems | undefined | Promise<Problems | undefined>;
  submit?: string;
  isBig?: boolean;
  children: ComponentChildren;
}) {
  const form = useRef<HTMLFormElement>(null);
  const [nBad, setBad] = useState(0);
  const [turn, setTurn] = useState(0);
  useEffect(() => {
    if (nBad > 0) form.current?.querySelector<HTMLElement>('[aria-invalid], .has-problem input')?.focus();
  }, [turn]);
  return (
    <form
      ref={form}
      class="form"
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        void Promise.resolve(onSubmit()).then((problems) => {
          setBad(Object.values(problems ?? {}).filter(Boolean).length);
          setTurn((n) => n + 1);
        });
      }}
    >
      {children}
      <p class="problem" role="alert">{nBad > 0 ? tn(F.badFields, nBad) : ''}</p>
      <button type="submit" class={isBig ? 'main-act big' : 'main-act'}>{submit}</button>
    </form>
  );
}
