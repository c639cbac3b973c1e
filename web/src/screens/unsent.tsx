// What was recorded here and is not with the server: what waits, and what it refused with its reason.
import { useState } from 'preact/hooks';
import { Heading } from '../parts/screen';
import { letGo, sendAgain, takeBack } from '../record/queue';
import type { Item } from '../record/kept';
import { once, useRecord } from '../record/use';
import { S, t, tn } from '../strings.en';

const U = S.recording.unsent;

function Parked({ item, onGone }: { item: Item; onGone: (item: Item) => void }) {
  return (
    <li>
      <time dateTime={item.event.occurred_at}>{item.event.occurred_at.slice(0, 10)}</time>
      <div>
        <b>{item.what}</b>
        <p class="found">{t(U.said, { text: item.refused ?? '' })}</p>
        <p>
          <button type="button" onClick={once(() => void sendAgain(item))}>{U.again}</button>{' '}
          <button type="button" onClick={once(() => { onGone(item); void letGo(item); })}>{U.drop}</button>
        </p>
      </div>
    </li>
  );
}

export default function UnsentScreen() {
  const { waiting, parked, elsewhere, isSignedOut } = useRecord();
  const [gone, setGone] = useState<Item>();
  return (
    <div class="column">
      <Heading title={U.title}>{U.title}</Heading>
      <p class="quiet">{U.noneText}</p>
      {waiting.length + parked.length === 0 && <p class="lead">{U.none}</p>}
      {gone && (
        <p class="note" role="status">
          {t(U.dropped, { what: gone.what })}{' '}
          <button type="button" onClick={once(() => { void takeBack(gone); setGone(undefined); })}>{U.keep}</button>
        </p>
      )}
      {parked.length > 0 && (
        <section aria-labelledby="parked">
          <h2 id="parked">{U.parked}</h2>
          <p>{U.parkedText}</p>
          <ol class="record">{parked.map((item) => <Parked key={item.n} item={item} onGone={setGone} />)}</ol>
        </section>
      )}
      {waiting.length > 0 && (
        <section aria-labelledby="waiting">
          <h2 id="waiting">{U.queue}</h2>
          <p>{tn(S.recording.waiting, waiting.length)} {isSignedOut ? S.recording.signedOut : S.recording.waitingWhy}</p>
          <ol class="record">
            {waiting.map((item) => (
              <li key={item.n}>
                <time dateTime={item.event.occurred_at}>{item.event.occurred_at.slice(0, 10)}</time>
                <div><b>{item.what}</b></div>
              </li>
            ))}
          </ol>
        </section>
      )}
      {elsewhere > 0 && <p class="quiet">{elsewhere}: {U.otherRoom}</p>}
    </div>
  );
}
