// All lots, by where they are on their way.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type LotBrief, type Phase } from '../api';
import { LotLine } from '../parts/lotline';
import { Heading, Shown } from '../parts/screen';
import { go, paths } from '../router';
import { S, t, tn } from '../strings.en';

const ORDER: Phase[] = ['held', 'arrived', 'cleaned', 'quarantine', 'established', 'gone'];

function fits(lot: LotBrief, text: string): boolean {
  const wanted = text.trim().toLowerCase();
  return [lot.name, lot.code, lot.place?.name ?? '', lot.plant?.botanical_name ?? ''].some((part) =>
    part.toLowerCase().includes(wanted),
  );
}

/** A label's code is often read by a scanner, which types the whole address. */
function typed(text: string): string {
  return /\/l\/([0-9a-z]+)\s*$/i.exec(text)?.[1] ?? text;
}

function Groups({ lots }: { lots: LotBrief[] }) {
  return (
    <>
      {ORDER.map((phase) => {
        const group = lots.filter((lot) => lot.phase === phase);
        return group.length === 0 ? null : (
          <section key={phase} aria-labelledby={`group-${phase}`}>
            <h2 id={`group-${phase}`}>{S.lots.group[phase]}</h2>
            <ul class={phase === 'established' ? 'lines dense' : 'lines'}>
              {group.map((lot) => (
                <LotLine key={lot.id} lot={lot} hasPlace />
              ))}
            </ul>
          </section>
        );
      })}
    </>
  );
}

function Lots({ lots }: { lots: LotBrief[] }) {
  const [text, setText] = useState('');
  const found = lots.filter((lot) => fits(lot, typed(text)));
  if (lots.length === 0) {
    return <div class="empty"><p class="lead">{S.lots.empty}</p><p>{S.lots.emptyText}</p></div>;
  }
  return (
    <>
      <form
        role="search"
        class="find"
        onSubmit={(event) => {
          event.preventDefault();
          const only = found.length === 1 ? found[0] : undefined;
          if (only) go(paths.lot(only.code));
        }}
      >
        <label for="find">{S.lots.find}</label>
        <input id="find" type="search" autocomplete="off" aria-describedby="find-hint" value={text} onInput={(event) => setText(event.currentTarget.value)} />
        <p class="quiet" id="find-hint">{S.lots.findHint}</p>
        <p class="hidden" role="status">{text ? tn(S.lots.kicker, found.length) : ''}</p>
      </form>
      {found.length === 0 && <p>{t(S.lots.none, { text })}</p>}
      <Groups lots={found} />
    </>
  );
}

export default function LotsScreen() {
  const answer = useAnswer('lots', () => client.GET('/api/v1/lots'));
  return (
    <Shown answer={answer} title={S.lots.title}>
      {({ lots }) => (
        <>
          <p class="kicker">{tn(S.lots.kicker, lots.length)}</p>
          <Heading title={S.lots.title}>{S.lots.title}</Heading>
          <Lots lots={lots} />
        </>
      )}
    </Shown>
  );
}
