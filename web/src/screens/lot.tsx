// One lot: what it is, its way, what the gate says, what could still be on it, what happened.
import { useAnswer } from '../answer';
import { day } from '../format';
import { client, type Lot, type Use } from '../api';
import { Chances } from '../parts/chances';
import { Lineage } from '../parts/lineage';
import { LotMark } from '../parts/marks';
import { Passage } from '../parts/passage';
import { Photos } from '../parts/photos';
import { EveningPlan } from '../parts/plan';
import { Conflicts, linesOf, Record } from '../parts/record';
import { Heading, Shown } from '../parts/screen';
import { Timeline } from '../parts/timeline';
import { nowMs } from '../record/event';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { tell as T } from '../strings/tell.en';
import { triage as D } from '../strings/triage.en';
import { S, t, tn } from '../strings.en';

const USES = Object.keys(S.gate.useNames) as Use[];

function Facts({ lot }: { lot: Lot }) {
  return (
    <dl class="facts pairs">
      <dt>{S.lot.place}</dt>
      <dd>{lot.place ? <a href={paths.place(lot.place.code)}>{lot.place.name}</a> : S.lot.nowhere}</dd>
      <dt>{S.lot.arrived[lot.origin]}</dt>
      <dd>{lot.arrived_text.replace(/^in /, '')}</dd>
      {lot.source && (<><dt>{S.lot.source}</dt><dd>{lot.source.name} ({lot.source.kind_text})</dd></>)}
      {lot.mother && (<><dt>{S.lot.mother}</dt><dd><a href={paths.lot(lot.mother.code)}>{lot.mother.name}</a></dd></>)}
      {lot.offspring.length > 0 && (
        <>
          <dt>{S.lot.offspring}</dt>
          {lot.offspring.map((child) => <dd key={child.id}><a href={paths.lot(child.code)}>{child.name}, {child.code}</a></dd>)}
        </>
      )}
      <dt>{S.lot.use}</dt>
      <dd>{lot.use_text}</dd>
      {lot.plant?.botanical_name && (<><dt>{S.lot.botanical}</dt><dd><i>{lot.plant.botanical_name}</i></dd></>)}
      {lot.label_active && (<><dt>{S.lot.label}</dt><dd>{lot.label_active}</dd></>)}
      {lot.is_label_clean && <dd class="whole">{S.lot.labelClean}</dd>}
    </dl>
  );
}

function GateSummary({ lot }: { lot: Lot }) {
  const { gate } = lot;
  if (!gate) return null;
  return (
    <section aria-labelledby="gate">
      <h2 id="gate">{S.lot.gate}</h2>
      <p class="answer"><LotMark lot={{ phase: lot.phase === 'established' ? 'quarantine' : lot.phase, is_open: gate.is_open }} /><span>{gate.answer_text}</span></p>
      <p>{gate.worst_text.charAt(0).toUpperCase() + gate.worst_text.slice(1)}.</p>
      {gate.examine_text && <p>{gate.examine_text} <span class="quiet">{gate.looks_text}</span></p>}
      <p><a class="button" href={paths.gate(lot.code, lot.use)}>{S.lot.gateMore}</a> <a class="button" href={`${paths.lot(lot.code)}/looks`}>{S.lot.looks}</a></p>
      <p class="ask">
        <span>{S.lot.ask}</span>
        {USES.filter((use) => use !== lot.use).map((use) => (
          <a key={use} href={paths.gate(lot.code, use)}>{S.gate.useNames[use]}</a>
        ))}
      </p>
    </section>
  );
}

/** More than one plant, or a part of what was. */
const isBatch = (lot: Lot) => lot.count > 1 || lot.origin === 'lot_split' || lot.offspring.length > 0;

const ACTS = ['release', 'move', 'cut', 'split', 'lose', 'step'] as const;

function Acts({ lot }: { lot: Lot }) {
  if (lot.phase === 'gone') return null;
  return (
    <section aria-labelledby="acts">
      <h2 id="acts">{T.lot.acts}</h2>
      <p class="acts">
        {ACTS.filter((act) => act !== 'split' || lot.count > 1).map((act) => (
          <a key={act} class="button" href={`/lots/${lot.code}/do/${act}`}>{T.lot[act].link}</a>
        ))}
        {(lot.phase === 'cleaned' || lot.phase === 'arrived') && <a class="button" href={`/put?lots=${lot.code}`}>{T.put.title}</a>}
        {lot.phase !== 'established' && lot.arrival_id && <a class="button" href={`/triage?lots=${lot.code}`}>{D.link}</a>}
        {lot.phase === 'arrived' && lot.arrival_id && <a class="button" href={`/tonight/${lot.arrival_id}`}>{T.tonight.title}</a>}
      </p>
      <p>
        {isBatch(lot) && <><a href={`${paths.lot(lot.code)}/batch`}>{T.lot.batch}</a> · </>}
        <a href={`/history?lot=${lot.code}`}>{T.lot.history}</a>
      </p>
    </section>
  );
}

function Whole({ lot }: { lot: Lot }) {
  const lines = linesOf(lot);
  const isAtSink = lot.phase === 'arrived';
  return (
    <>
      <div class="head">
        <p class="kicker">{t(S.lot.kicker, { code: lot.code })} · {tn(S.lot.plants, lot.count)}, {lot.form_text}</p>
        <Heading title={lot.name}>{lot.name}</Heading>
        <p class="lead">{lot.phase_text.charAt(0).toUpperCase() + lot.phase_text.slice(1)}.</p>
      </div>
      <div class="two">
        <div>
          <GateSummary lot={lot} />
          <Acts lot={lot} />
          <Passage lot={lot} />
          {isAtSink && <EveningPlan plan={lot.plan} isDone={false} />}
          <section aria-labelledby="facts">
            <h2 id="facts">{S.lot.facts}</h2>
            <Facts lot={lot} />
            <p>
              <a href={`/paper?lot=${lot.code}`}>{S.pages.paper.name}</a>
              {lot.phase === 'gone' && isBatch(lot) && <> · <a href={`${paths.lot(lot.code)}/batch`}>{T.lot.batchGone}</a></>}
            </p>
          </section>
          <Photos of={lot.id} what={lot.name} />
        </div>
        <div>
          <Chances lot={lot} />
          <Lineage lot={lot} nowAt={new Date(nowMs()).toISOString()} />
          <section aria-labelledby="history">
            <h2 id="history">{S.lot.history}</h2>
            <Timeline lot={lot} nowAt={new Date(nowMs()).toISOString()} />
            {lines.length === 0 ? <p class="quiet">{S.lot.historyEmpty}</p> : <Record lines={lines} />}
            {!isAtSink && lot.origin === 'lot_arrived' && <EveningPlan plan={lot.plan} isDone />}
          </section>
          {lot.told.length > 0 && (
            <section aria-labelledby="told">
              <h2 id="told">{S.lot.told}</h2>
              <p class="quiet">{S.lot.toldText}</p>
              <ul class="plain">
                {lot.told.map((line, k) => (
                  <li key={k}>{line.on && `${day(line.on)}: `}{line.is_mother && S.lot.toldMother}{line.text} <span class="quiet">· {line.teller}</span></li>
                ))}
              </ul>
            </section>
          )}
          <Conflicts of={lot} />
        </div>
      </div>
    </>
  );
}

export default function LotScreen({ params: { id = '' } }: ScreenProps) {
  const answer = useAnswer(`lot ${id}`, () => client.GET('/api/v1/lots/{id}', { params: { path: { id } } }));
  return (
    <Shown answer={answer} title={t(S.lot.kicker, { code: id })}>
      {(lot) => <Whole lot={lot} />}
    </Shown>
  );
}
