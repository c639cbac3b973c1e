// What has grown enough to be cut back in a place: recorded by one tap, with the waste bagged.
import type { Place } from '../api';
import { day } from '../format';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import { tell as T } from '../strings/tell.en';
import { t } from '../strings.en';

const R = T.trims;

export function Trims({ place }: { place: Place }) {
  const { record } = useRecord();
  const due = place.trims.filter((trim) => trim.is_due);
  const next = place.trims.find((trim) => !trim.is_due);
  if (place.trims.length === 0) return null;
  const tell = once(() => {
    void record(t(R.told, { place: place.name }), [{ kind: 'step_done', note: R.note, body: { steps: [{ lots: due.map((trim) => trim.lot.id), step: 'trim' }] } }]);
  });
  return (
    <section aria-labelledby="trims">
      <h2 id="trims">{R.title}</h2>
      {due.length === 0 && next && <p class="quiet">{t(R.next, { lot: next.lot.name, date: day(next.due_on) })}</p>}
      {due.length > 0 && (
        <>
          <ul class="plain linked">
            {due.map((trim) => (
              <li key={trim.lot.id}>
                <a href={paths.lot(trim.lot.code)}>{trim.lot.name}</a> <span class="quiet">{t(trim.is_own_pace ? R.own : R.usual, { n: trim.every_days })}{trim.last_on && t(R.last, { date: day(trim.last_on) })}</span>
              </li>
            ))}
          </ul>
          <p class="quiet">{R.bag}</p>
          <p class="acts"><button type="button" onClick={tell}>{R.done}</button></p>
        </>
      )}
    </section>
  );
}
