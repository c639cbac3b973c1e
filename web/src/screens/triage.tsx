// At the door: each newcomer with its four ways, which of them the figures lean to, and one tap that
// records what was done. Nothing here decides or blocks.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { Form, NumberField, readNumber } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { newId, type Draft } from '../record/event';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import type { ScreenProps } from '../screens';
import { triage as W } from '../strings/triage.en';
import { t, tn } from '../strings.en';

type Weighed = Schemas['TriageLot'];
type Option = Weighed['options'][number];

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

/** What going that way records; the cutting gets an id, and as many tips as were told. */
function draftsOf(option: Option, tips: number): Draft[] {
  return option.records.map(({ kind, body }) => ({
    kind, body: kind === 'lot_cut' ? { ...body, lot: newId(), count: tips } : { ...body },
  }));
}

function Way({ option, weighed, leans }: { option: Option; weighed: Weighed; leans: boolean }) {
  const { recordTogether } = useRecord();
  const [tips, setTips] = useState(String(weighed.plants));
  const read = readNumber(tips, { least: 1, most: 1_000_000, isWhole: true });
  const name = weighed.lot.name;
  const go = once(() => {
    if (read.problem) return;
    void recordTogether(t(W.told[option.way], { name }), draftsOf(option, read.value ?? weighed.plants));
  });
  return (
    <li class="price">
      <h3>{capital(option.way_text)}{leans && <> <span class="state">{W.leans}</span></>}</h3>
      <p>{capital(option.text)}.</p>
      {option.way === 'clean_tip' && option.is_there && weighed.plants > 1 && (
        <NumberField label={`${W.tips}: ${name}`} isWhole value={tips} onValue={setTips} problem={read.problem} />
      )}
      {option.way === 'keep'
        ? <a class="button" href="/sink">{W.acts.keep}<span class="hidden">: {name}</span></a>
        : option.is_there && <button type="button" class={leans ? 'main-act' : ''} onClick={go}>{W.acts[option.way]}<span class="hidden">: {name}</span></button>}
    </li>
  );
}

function OneLot({ weighed }: { weighed: Weighed }) {
  const { lot } = weighed;
  return (
    <section aria-labelledby={`door-${lot.code}`}>
      <h2 id={`door-${lot.code}`}><a href={paths.lot(lot.code)}>{lot.name}, {lot.code}</a></h2>
      <p class="quiet">
        {tn(W.plants, weighed.plants)}, {t(W.from, { source: weighed.source_name })} ·{' '}
        <a href={`${paths.lot(lot.code)}#photos`}>{W.photo}<span class="hidden">: {lot.name}</span></a>
      </p>
      <p class="lead">{weighed.text}</p>
      <ol class="prices">
        {weighed.options.map((option) => (
          <Way key={option.way} option={option} weighed={weighed} leans={option.way === weighed.leans} />
        ))}
      </ol>
    </section>
  );
}

function Assumed({ data, onBinWeek }: { data: Schemas['Triage']; onBinWeek: (value: number) => void }) {
  const [text, setText] = useState(String(data.assumptions.find((one) => one.name === 'bin_week')?.value ?? ''));
  const { value, problem } = readNumber(text, { least: 0, most: 1_000_000 });
  return (
    <details>
      <summary>{W.assumed}</summary>
      <p>{W.assumedText}</p>
      <ul class="dots">{data.assumptions.map((one) => <li key={one.name}>{one.text} <span class="quiet">· {one.grade}</span></li>)}</ul>
      <Form
        submit={W.weigh}
        onSubmit={() => {
          if (value !== undefined && !problem) onBinWeek(value);
          return Promise.resolve(problem ? { worth: problem } : {});
        }}
      >
        <NumberField label={W.binWeek} value={text} onValue={setText} problem={problem} />
      </Form>
    </details>
  );
}

export default function TriageScreen({ query }: ScreenProps) {
  const [binWeek, setBinWeek] = useState<number>();
  const lots = query.get('lots') ?? '';
  const asked = { ...(lots ? { lots } : {}), ...(binWeek === undefined ? {} : { bin_week: binWeek }) };
  const answer = useAnswer(`triage ${JSON.stringify(asked)}`, () => client.GET('/api/v1/triage', { params: { query: asked } }));
  return (
    <Shown answer={answer} title={W.title}>
      {(data) => (
        <div class="column">
          <Heading title={W.title}>{W.title}</Heading>
          {data.not_on_trial.length > 0 && (
            <p class="note">{W.others} {data.not_on_trial.map((lot, k) => <>{k > 0 && ', '}<a href={paths.lot(lot.code)}>{lot.name}</a></>)}</p>
          )}
          {data.lots.length === 0
            ? <div class="empty"><p class="lead">{W.none}</p><p>{W.noneText}</p></div>
            : (
              <>
                <p class="lead">{W.lead}</p>
                {data.lots.map((weighed) => <OneLot key={weighed.lot.id} weighed={weighed} />)}
                <Assumed key={binWeek} data={data} onBinWeek={setBinWeek} />
              </>
            )}
        </div>
      )}
    </Shown>
  );
}
