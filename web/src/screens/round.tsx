// A look round: hands and manner once, then a tap for each place.
import { useState } from 'preact/hooks';
import type { PlaceBrief } from '../api';
import { ChoiceField } from '../parts/form';
import { EFFORTS, keepEffort, lastEffort, type Effort } from '../parts/lookhere';
import { usePlaces } from '../parts/pick';
import { Heading, Shown } from '../parts/screen';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import { tell as T } from '../strings/tell.en';
import { t } from '../strings.en';

const R = T.round;
type Hands = keyof typeof R.handsWords;
const KEPT = 'fernlock.round';

/** What was tapped in this round, kept through a reload of the page for the day. */
function readRound(): { day: string; hands: Hands | ''; done: Record<string, string> } {
  const day = new Date().toDateString();
  try {
    const kept = JSON.parse(sessionStorage.getItem(KEPT) ?? '') as ReturnType<typeof readRound>;
    if (kept.day === day) return kept;
  } catch {
    // none yet
  }
  return { day, hands: '', done: {} };
}

function Line({ place, done, onNothing }: { place: PlaceBrief; done: string | undefined; onNothing: () => void }) {
  return (
    <li class="round-line">
      <div>
        <a href={paths.place(place.code)}><b>{place.name}</b></a>
        <p class="quiet">{place.lots.map((lot) => lot.name).join(', ')}</p>
        {done && <p role="status">{done}</p>}
      </div>
      <p class="acts">
        {!done && <button type="button" class="main-act" onClick={onNothing}>{R.nothing}<span class="hidden">: {place.name}</span></button>}
        <a class="button" href={`/found?place=${place.code}`}>{R.something}<span class="hidden">: {place.name}</span></a>
      </p>
    </li>
  );
}

function Round({ places }: { places: PlaceBrief[] }) {
  const { record, last } = useRecord();
  const [round, setRound] = useState(readRound);
  const [effort, setEffort] = useState<Effort>(lastEffort);
  const keep = (now: typeof round) => {
    sessionStorage.setItem(KEPT, JSON.stringify(now));
    setRound(now);
  };
  const inUse = places.filter((place) => place.lots.length > 0 && place.kind !== 'outside');
  const groups = [
    [R.bins, inUse.filter((place) => place.kind === 'bin' || place.kind === 'jar')],
    [R.others, inUse.filter((place) => place.kind !== 'bin' && place.kind !== 'jar')],
  ] as const;
  const nothing = once((place: PlaceBrief) => {
    keepEffort(effort);
    const what = t(R.told, { place: place.name });
    void record(what, [{ kind: 'look_done', body: { place: place.id, effort, hands: round.hands || undefined } }]);
    keep({ ...round, done: { ...round.done, [place.id]: what } });
  });
  // What was undone is open again.
  const isUndone = (place: PlaceBrief) => last?.isUndo === true && last.what === round.done[place.id];
  const bins = groups[0][1];
  return (
    <>
      <ChoiceField label={R.hands} value={round.hands} onValue={(hands) => keep({ ...round, hands })} options={(Object.keys(R.handsWords) as Hands[]).map((value) => ({ value, label: R.handsWords[value] }))} />
      <ChoiceField label={R.effort} value={effort} onValue={setEffort} options={EFFORTS} />
      {inUse.length === 0 && <p>{R.empty}</p>}
      {groups.map(([name, list]) => list.length > 0 && (
        <section key={name} aria-label={name}>
          <h2>{name}</h2>
          <ul class="round">
            {list.map((place) => (
              <Line key={place.id} place={place} done={isUndone(place) ? undefined : round.done[place.id]} onNothing={() => nothing(place)} />
            ))}
          </ul>
        </section>
      ))}
      {bins.length > 0 && bins.every((place) => round.done[place.id] && !isUndone(place)) && <p class="lead" role="status">{R.allDone}</p>}
    </>
  );
}

export default function RoundScreen() {
  const answer = usePlaces();
  return (
    <Shown answer={answer} title={R.title}>
      {({ places }) => (
        <div class="column">
          <Heading title={R.title}>{R.title}</Heading>
          <p class="lead">{R.lead}</p>
          <Round places={places} />
        </div>
      )}
    </Shown>
  );
}
