// What now: each proposal by itself, with what it does not reach, its cautions, and what accepting it records.
import { useState } from 'preact/hooks';
import type { components } from '../../../build/api';
import { dayLong } from '../../format';
import { once, useRecord } from '../../record/use';
import { found as F } from '../../strings/found.en';
import { t } from '../../strings.en';

type Proposal = components['schemas']['Proposal'];

/** Accepting turns its events, ids and all, into records: a second time would be the same ones. */
function Accept({ proposal }: { proposal: Proposal }) {
  const { record } = useRecord();
  const [isDone, setDone] = useState(false);
  if (proposal.events.length === 0) return null;
  const accept = once(() => {
    setDone(true);
    void record(t(F.accepted, { text: proposal.text.replace(/\.$/, '') }), proposal.events.map(({ id, kind, occurred_at: occurredAt, body }) => ({ id, kind, occurredAt, body: body as { [member: string]: unknown } })));
  });
  return (
    <p>
      <button type="button" disabled={isDone} onClick={accept}>
        {F.accept} <span class="hidden">{proposal.text}</span>
      </button>
    </p>
  );
}

function One({ proposal }: { proposal: Proposal }) {
  return (
    <li>
      <p class="lead-line"><b>{proposal.text}</b>{proposal.on && <span class="quiet"> {dayLong(proposal.on)}</span>}</p>
      {proposal.why && <p>{proposal.why}</p>}
      {proposal.not_reached && <p class="found">{proposal.not_reached}</p>}
      {proposal.cautions.length > 0 && (
        <details>
          <summary>{F.cautions}</summary>
          <ul class="dots">{proposal.cautions.map((caution) => <li key={caution}>{caution}</li>)}</ul>
        </details>
      )}
      {proposal.events.length > 0 && <p class="quiet">{proposal.records_text}</p>}
      <Accept proposal={proposal} />
    </li>
  );
}

export function Proposals({ proposals }: { proposals: readonly Proposal[] }) {
  if (proposals.length === 0) return null;
  return (
    <section aria-labelledby="now">
      <h2 id="now">{F.now}</h2>
      <p class="quiet">{F.nowText}</p>
      <ol class="proposals">{proposals.map((proposal) => <One key={`${proposal.kind}${proposal.place?.id ?? ''}${proposal.lot?.id ?? ''}${proposal.text}`} proposal={proposal} />)}</ol>
    </section>
  );
}
