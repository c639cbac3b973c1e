// The record of pesticides of a span of days: each treatment, what is told, what two rules would ask besides.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { Field, Form } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { once, useRecord } from '../record/use';
import { go, paths } from '../router';
import type { ScreenProps } from '../screens';
import { pesticides as P } from '../strings/pesticides.en';
import { t } from '../strings.en';

type Entry = Schemas['PesticideEntry'];
type Rule = Schemas['Pesticides']['rules'][number];
type Head = keyof typeof P.heads;

const HEADS = Object.keys(P.heads) as Head[];

function Lacks({ entry, rules }: { entry: Entry; rules: Rule[] }) {
  return (
    <dl class="facts pairs">
      {rules.map((rule) => {
        const lack = entry.missing.find((one) => one.rule === rule.rule);
        if (!lack) return null;
        return (
          <>
            {lack.text ? (
              <><dt>{t(P.lacks, { rule: rule.short_name })}</dt><dd>{lack.text}</dd></>
            ) : (
              <dd class="whole quiet">{t(P.whole, { rule: rule.short_name })}</dd>
            )}
            {lack.text_if && <><dt>{t(P.lacksIf, { rule: rule.short_name })}</dt><dd>{lack.text_if}</dd></>}
          </>
        );
      })}
    </dl>
  );
}

function OneEntry({ entry, rules }: { entry: Entry; rules: Rule[] }) {
  const { record } = useRecord();
  const name = entry.brand ?? entry.active ?? P.noName;
  const undo = once(() => void record(t(P.undone, { what: name }), [{ kind: 'event_voided', body: { event: entry.event_id } }]));
  return (
    <li class="line">
      <div>
        <h3>{entry.when_text}: {name}</h3>
        <dl class="facts pairs">
          {HEADS.map((head) => entry[head] && <><dt>{P.heads[head]}</dt><dd>{entry[head]}</dd></>)}
          {entry.reentry_h && <><dt>{P.reentry}</dt><dd>{t(P.reentryText, { n: entry.reentry_h })}</dd></>}
          {entry.harvest_d && <><dt>{P.harvest}</dt><dd>{t(P.harvestText, { n: entry.harvest_d })}</dd></>}
        </dl>
        <p>{entry.lots.map((lot, i) => <>{i > 0 && ', '}<a key={lot.id} href={paths.lot(lot.code)}>{lot.name}, {lot.code}</a></>)}</p>
        <Lacks entry={entry} rules={rules} />
        <p><button type="button" class="bare-button" onClick={undo}>{P.undo}<span class="hidden">: {name}, {entry.when_text}</span></button></p>
      </div>
    </li>
  );
}

function Days({ label, value, onValue }: { label: string; value: string; onValue: (value: string) => void }) {
  return (
    <Field label={label} isOptional>
      {(ties) => <input type="date" {...ties} value={value} onInput={(event) => onValue(event.currentTarget.value)} />}
    </Field>
  );
}

function Span({ from, to }: { from: string; to: string }) {
  const [first, setFirst] = useState(from);
  const [last, setLast] = useState(to);
  const show = (): undefined => {
    const query = new URLSearchParams({ ...(first ? { from: first } : {}), ...(last ? { to: last } : {}) });
    go(`/pesticides${query.size ? `?${query}` : ''}`);
  };
  return (
    <section aria-labelledby="span">
      <h2 id="span">{P.span}</h2>
      <Form submit={P.show} onSubmit={show}>
        <Days label={P.from} value={first} onValue={setFirst} />
        <Days label={P.to} value={last} onValue={setLast} />
      </Form>
    </section>
  );
}

export default function PesticidesScreen({ query }: ScreenProps) {
  const from = query.get('from') ?? '';
  const to = query.get('to') ?? '';
  const span = new URLSearchParams({ ...(from ? { from } : {}), ...(to ? { to } : {}) });
  const answer = useAnswer(`pesticides ${from} ${to}`, () =>
    client.GET('/api/v1/pesticides', { params: { query: { ...(from ? { from } : {}), ...(to ? { to } : {}) } } }),
  );
  return (
    <Shown answer={answer} title={P.title}>
      {(data) => (
        <div class="column">
          <div class="head">
            <Heading title={P.title}>{P.title}</Heading>
            <p class="lead">{P.lead}</p>
            <p class="note">{data.notice}</p>
          </div>
          <p class="acts"><a class="button" href="/pesticides/tell">{P.tell}</a></p>
          <section aria-labelledby="entries">
            <h2 id="entries">{P.entries}</h2>
            {data.entries.length === 0 && <p class="quiet">{P.none}</p>}
            <ul class="lines bare">{data.entries.map((entry) => <OneEntry key={`${entry.event_id} ${entry.lots.map((lot) => lot.id).join()}`} entry={entry} rules={data.rules} />)}</ul>
            <p class="acts">
              <a href={`/api/v1/print/pesticides?${span}`} download>{P.paper}</a>
              <a href={`/api/v1/pesticides.csv?${span}`} download>{P.csv}</a>
            </p>
          </section>
          <Span key={`${from} ${to}`} from={from} to={to} />
          <section aria-labelledby="rules">
            <h2 id="rules">{P.rules}</h2>
            {data.rules.map((rule) => (
              <p key={rule.rule}><b>{rule.name}</b>. {rule.keep_text} {t(P.whom, { whom: rule.whom_text, when: rule.when_text })}</p>
            ))}
          </section>
        </div>
      )}
    </Shown>
  );
}
