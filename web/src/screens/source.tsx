// One source: what came, form by form, what it carried, what that says of the next purchase.
import { useAnswer } from '../answer';
import { client } from '../api';
import type { components } from '../../build/api';
import { day } from '../format';
import { Heading, Shown } from '../parts/screen';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { sources as T } from '../strings/chance.en';
import { triage as D } from '../strings/triage.en';
import { t, tn } from '../strings.en';

type Source = components['schemas']['Source'];
type Risk = Source['threats'][number];

const SHOWN = 5;

function Risks({ risks, label }: { risks: Risk[]; label: string }) {
  return (
    <div class="table-box" tabIndex={0} role="region" aria-label={label}>
      <table>
        <thead>
          <tr>
            <th scope="col">{T.carriedHead.pest}</th>
            <th scope="col">{T.carriedHead.found}</th>
            <th scope="col">{T.carriedHead.kind}</th>
            <th scope="col">{T.carriedHead.next}</th>
          </tr>
        </thead>
        <tbody>
          {risks.map((risk) => (
            <tr key={risk.threat}>
              <th scope="row">{risk.plural}</th>
              <td>{t(T.found, { found: risk.purchases_found, all: risk.purchases })}</td>
              <td>{risk.kind_text}</td>
              <td>{risk.next_text}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function Forms({ source }: { source: Source }) {
  const H = T.formsHead;
  return (
    <section aria-labelledby="forms">
      <h2 id="forms">{T.forms}</h2>
      <div class="table-box" tabIndex={0} role="region" aria-label={T.formsTable}>
        <table>
          <thead>
            <tr>{[H.form, H.purchases, H.plants, H.cost, H.found, H.released, H.gone].map((text) => <th key={text} scope="col">{text}</th>)}</tr>
          </thead>
          <tbody>
            {source.forms.map((form) => (
              <tr key={form.form}>
                <th scope="row">{form.form_text}</th>
                <td>{form.purchases}</td>
                <td>{form.plants}</td>
                <td>{form.cost ?? T.notTold}</td>
                <td>{form.lots_found_on}</td>
                <td>{form.lots_released}</td>
                <td>{form.lots_gone}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Purchases({ source }: { source: Source }) {
  const newest = [...source.purchases].sort((a, b) => b.at.localeCompare(a.at));
  return (
    <section aria-labelledby="purchases">
      <h2 id="purchases">{T.history}</h2>
      {newest.map((purchase) => (
        <div key={purchase.arrival_id ?? purchase.at}>
          <h3>{day(purchase.on)}</h3>
          <ul class="reasons">
            {purchase.lots.map((one) => (
              <li key={one.lot.id}>
                <a href={paths.lot(one.lot.code)}>{one.lot.name}</a>, {tn(T.count, one.count_born)}, {one.form_text}: {one.phase_text};{' '}
                {one.findings.length === 0 ? T.nothingFound : t(T.was, { what: one.findings.map((f) => f.text).join(', ') })}
              </li>
            ))}
          </ul>
        </div>
      ))}
    </section>
  );
}

function Whole({ source }: { source: Source }) {
  const first = source.threats.slice(0, SHOWN);
  const rest = source.threats.slice(SHOWN);
  return (
    <>
      <p class="back"><a href="/sources">{T.back}</a></p>
      <div class="head">
        <p class="kicker">{source.kind_text} · {tn(T.purchases, source.purchases_counted)}</p>
        <Heading title={source.name}>{source.name}</Heading>
        <p class="lead">{source.text}</p>
        {source.has_animals_with_plants && <p class="note">{T.animals}</p>}
        {source.take_back_days > 0 && <p class="note">{t(D.takesBack, { n: source.take_back_days })}</p>}
        {source.judgement_text && <p class="note">{source.judgement_text}</p>}
      </div>
      <section aria-labelledby="carried">
        <h2 id="carried">{T.carried}</h2>
        <p class="quiet">{T.carriedNote}</p>
        <Risks risks={first} label={T.carriedTable} />
        {rest.length > 0 && (
          <details>
            <summary>{tn(T.rest, rest.length)}</summary>
            <Risks risks={rest} label={T.restTable} />
          </details>
        )}
      </section>
      <Forms source={source} />
      <Purchases source={source} />
    </>
  );
}

export default function SourceScreen({ params: { id = '' } }: ScreenProps) {
  const answer = useAnswer(`source ${id}`, () => client.GET('/api/v1/sources/{id}', { params: { path: { id } } }));
  return (
    <Shown answer={answer} title={T.title}>
      {(source) => <Whole source={source} />}
    </Shown>
  );
}
