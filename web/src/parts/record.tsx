// What happened, as dated lines: looks, finds, steps, moves, the release; and records that do not agree.
import type { ComponentChildren } from 'preact';
import type { Finding, Look, Lot, Place } from '../api';
import { day } from '../format';
import { paths } from '../router';
import { S, t } from '../strings.en';

interface Line {
  key: string;
  at: string;
  on: string;
  what: ComponentChildren;
  more: ComponentChildren;
}

function lookMore(look: Look): string {
  const parts = [S.effort[look.effort] as string];
  if (look.is_after_dark) parts.push(S.afterDark);
  if (look.frac_examined < 1) parts.push(t(S.share, { pct: `${Math.round(100 * look.frac_examined)} %` }));
  for (const device of look.devices) parts.push(S.devices[device]);
  if (look.hands !== 'cleaned') parts.push(S.hands[look.hands]);
  if (look.has_new_growth) parts.push(S.newGrowth);
  return parts.join(', ');
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export function looksOf(looks: Look[], findings: Finding[]): Line[] {
  return looks.map((look) => {
    const found = findings.filter((finding) => finding.look_event_id === look.event_id);
    return {
      key: look.event_id,
      at: look.at,
      on: look.on,
      what: capital(look.found_text),
      more: (
        <>
          {found.map((finding) => (
            <p key={finding.id} class="found">
              {finding.is_retracted && `${S.retracted}: `}
              {finding.text}
              {finding.lot && <> · <a href={paths.lot(finding.lot.code)}>{finding.lot.name}</a></>}
              {finding.what && <span class="quiet"> · {finding.what}</span>}
            </p>
          ))}
          <p class="quiet">{capital(lookMore(look))}</p>
          {look.note && <p>{look.note}</p>}
        </>
      ),
    };
  });
}

function stepsOf(lot: Lot): Line[] {
  const evenings = new Map<string, Lot['steps']>();
  for (const step of lot.steps) evenings.set(step.event_id, [...(evenings.get(step.event_id) ?? []), step]);
  return [...evenings.values()].map((steps) => ({
    key: `${steps[0]?.event_id}-steps`,
    at: steps[0]?.at ?? '',
    on: steps[0]?.on ?? '',
    what: capital(steps.map((step) => step.step_text + (step.agent === 'none' ? '' : ` (${step.agent_text})`)).join(', ')),
    more: null,
  }));
}

function staysOf(lot: Lot): Line[] {
  return lot.stays.map((stay, k) => ({
    key: `${stay.from_at}-stay`,
    at: stay.from_at,
    on: stay.from_on,
    what: t(k === 0 ? S.lot.stoodFirst : S.lot.stood, { place: stay.place?.name ?? S.lot.nowhere }),
    more: null,
  }));
}

function releaseOf(lot: Lot): Line[] {
  const { release } = lot;
  if (!release) return [];
  const then = release.answer_then as { answer_text?: string } | null;
  return [{
    key: release.event_id,
    at: release.at,
    on: release.on,
    what: t(release.is_against_gate ? S.lot.releasedAgainst : S.lot.released, { place: release.to?.name ?? S.lot.nowhere }),
    more: then?.answer_text ? <p class="quiet">{t(S.lot.thenSaid, { text: then.answer_text })}</p> : null,
  }];
}

/** Everything that happened to a lot, the newest first. */
export function linesOf(lot: Lot): Line[] {
  const lines = [...looksOf(lot.looks, lot.findings), ...stepsOf(lot), ...staysOf(lot), ...releaseOf(lot)];
  return lines.sort((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : 0));
}

export function Record({ lines }: { lines: Line[] }) {
  return (
    <ol class="record">
      {lines.map((line) => (
        <li key={line.key}>
          <time dateTime={line.on}>{day(line.on)}</time>
          <div>
            <b>{line.what}</b>
            {line.more}
          </div>
        </li>
      ))}
    </ol>
  );
}

export function Conflicts({ of }: { of: Lot | Place }) {
  if (of.conflicts.length === 0) return null;
  return (
    <section aria-labelledby="conflicts">
      <h2 id="conflicts">{S.lot.conflicts}</h2>
      <ul class="plain">
        {of.conflicts.map((conflict) => (
          <li key={conflict.event_id + conflict.kind}>{day(conflict.on)}: {conflict.text}</li>
        ))}
      </ul>
    </section>
  );
}
