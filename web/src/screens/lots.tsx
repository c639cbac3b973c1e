// All lots, by where they are on their way.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, PLAIN, type LotBrief, type Phase } from '../api';
import { useMore } from '../more';
import { Awaited, useFew } from '../parts/few';
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

/** Lots whose line says what the gate answers. */
const isAsked = (lot: LotBrief) => lot.phase !== 'established' && lot.phase !== 'gone';

const askLots = async (codes: readonly string[]) => {
  const { data, ...rest } = await client.GET('/api/v1/lots', { params: { query: { only: codes.join(',') } } });
  return data ? { ...rest, data: data.lots } : rest;
};

/** Groups in their order, forty lots at a time over all of them. */
function Groups({ lots, all, about }: { lots: LotBrief[]; all: object; about: string }) {
  const { shown, more } = useFew(lots, about);
  const answers = useMore(all, shown.filter(isAsked).map((lot) => lot.code), askLots, (lot) => lot.code);
  return (
    <>
      {ORDER.map((phase) => {
        const group = shown.filter((lot) => lot.phase === phase);
        return group.length === 0 ? null : (
          <section key={phase} aria-labelledby={`group-${phase}`}>
            <h2 id={`group-${phase}`}>{S.lots.group[phase]}</h2>
            <ul class={phase === 'established' ? 'lines dense' : 'lines'}>
              {group.map((lot) => (
                <LotLine key={lot.id} lot={answers.of(lot.code) ?? lot} isAsked={isAsked(lot)} hasPlace />
              ))}
            </ul>
          </section>
        );
      })}
      {more}
      <Awaited left={answers.left} />
    </>
  );
}

function Lots({ lots }: { lots: LotBrief[] }) {
  const [text, setText] = useState('');
  const found = ORDER.flatMap((phase) => lots.filter((lot) => lot.phase === phase && fits(lot, typed(text))));
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
      <Groups lots={found} all={lots} about={text} />
    </>
  );
}

export default function LotsScreen() {
  const answer = useAnswer('lots plain', () => client.GET('/api/v1/lots', PLAIN));
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
