// Lots from a spreadsheet: chosen, looked at column by column, recorded as one batch, taken back.
import { useState } from 'preact/hooks';
import { tellAnswers, useAnswer } from '../answer';
import { client, type Schemas, PLAIN } from '../api';
import { day } from '../format';
import { Field, SelectField } from '../parts/form';
import { useJob } from '../jobs';
import { WorkLine } from '../parts/work';
import { newId } from '../record/event';
import { once } from '../record/use';
import { t, tn } from '../strings.en';
import { paper as P } from '../strings/paper.en';
import { work as W } from '../strings/work.en';

type Sheet = Schemas['SheetIn'];
const FIELDS = ['none', 'plant', 'taxon', 'count', 'form', 'use', 'source', 'date', 'place', 'label', 'cost', 'note'];
const FORMS = ['potted', 'plug', 'bare_root', 'unrooted_cutting', 'tissue_culture', 'mounted', 'moss_clump', 'seed'];
const USES = ['plants_only', 'reptile', 'invertebrate', 'amphibian', 'stock'];
const words = (list: readonly string[]) => list.map((value) => ({ value, label: value.replace(/_/g, ' ') }));

function Seen({ sheet, onMatch }: { sheet: Sheet; onMatch: (column: string, field: string) => void }) {
  return (
    <>
      <div class="form">
        {sheet.columns.map((column) => (
          <SelectField key={column.name} label={t(P.column, { name: column.name })} value={column.field}
            options={FIELDS.map((value) => ({ value, label: value === 'none' ? P.ignored : value }))}
            onValue={(field) => onMatch(column.name, field)} />
        ))}
      </div>
      <p role="status">{[tn(P.understood, sheet.rows.length), sheet.troubles.length ? tn(P.troubles, sheet.troubles.length) : ''].filter(Boolean).join('; ')}</p>
      {sheet.troubles.length > 0 && (
        <ul class="plain">
          {sheet.troubles.map((one) => <li key={`${one.line} ${one.text}`}>{one.line ? t(P.troubleLine, { line: one.line, text: one.text }) : one.text}</li>)}
        </ul>
      )}
      {sheet.rows.length > 0 && (
        <div class="wide" tabIndex={0} role="region" aria-label={P.sheetIn}>
          <table>
            <thead><tr><th>{P.line}</th><th>{P.plant}</th><th>{P.count}</th><th>{P.on}</th></tr></thead>
            <tbody>
              {sheet.rows.map((row) => (
                <tr key={row.line}><td>{row.line}</td><td>{row.plant}</td><td>{row.count}</td><td>{row.on ? day(row.on) : ''}</td></tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </>
  );
}

export function SheetIn() {
  const places = useAnswer('places plain', () => client.GET('/api/v1/places', PLAIN));
  const lots = useAnswer('lots plain', () => client.GET('/api/v1/lots', PLAIN));
  const [file, setFile] = useState<File | undefined>();
  const [given, setGiven] = useState({ source: '', place: '', form: 'potted', use: 'stock', dates: 'ask' });
  const [match, setMatch] = useState<Record<string, string>>({});
  const [sheet, setSheet] = useState<Sheet | undefined>();
  const [told, setTold] = useState('');
  const [key, setKey] = useState(newId);
  const sources = [...new Map((lots.data?.lots ?? []).flatMap((lot) => (lot.source?.name ? [[lot.source.name, lot.source.name] as const] : [])))];
  const give = (name: string) => (value: string) => setGiven({ ...given, [name]: value });

  const work = useJob<Sheet>('sheet', {
    onEnd: (outcome) => {
      setTold(outcome.is === 'failed' ? outcome.trouble.detail || outcome.trouble.title : '');
      if (outcome.is !== 'done') return;
      setSheet(outcome.data);
      tellAnswers();
    },
  });
  const send = async (isPreview: boolean, matched = match) => {
    if (!file) return;
    const query = new URLSearchParams({ id: key, occurred_at: `${new Date(Date.now() - 1000).toISOString().slice(0, 19)}Z` });
    for (const [name, value] of Object.entries(given)) if (value) query.set(name, value);
    const pairs = Object.entries(matched).map(([column, field]) => `${column}=${field}`);
    if (pairs.length) query.set('match', pairs.join(','));
    if (isPreview) query.set('preview', '1');
    const init = { method: 'POST', headers: { 'Content-Type': 'text/csv', 'X-Requested-By': 'fernlock' }, body: file };
    if (!isPreview) return work.begin(`/api/v1/lots/sheet?${query}`, init);
    const response = await fetch(`/api/v1/lots/sheet?${query}`, init);
    const said = await response.json();
    if (!response.ok) return setTold(said.detail ?? said.title);
    setTold('');
    setSheet(said);
  };
  const undo = async () => {
    const response = await fetch('/api/v1/lots/sheet/undo', {
      method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ batch: sheet?.batch }),
    });
    setTold(response.ok ? P.undone : ((await response.json()).title ?? ''));
    if (!response.ok) return;
    setSheet(undefined);
    setKey(newId());
    tellAnswers();
  };
  const onMatch = (column: string, field: string) => {
    const matched = { ...match, [column]: field };
    setMatch(matched);
    void send(true, matched);
  };
  return (
    <section aria-labelledby="sheet-in">
      <h2 id="sheet-in">{P.sheetIn}</h2>
      <p>{P.sheetText}</p>
      <div class="form">
        <Field label={P.file}>
          {(ties) => (
            <input type="file" accept=".csv,.tsv,.txt,text/csv" {...ties} onChange={(event) => {
              setFile(event.currentTarget.files?.[0]);
              setSheet(undefined);
              setMatch({});
              setKey(newId());
            }} />
          )}
        </Field>
        <SelectField label={P.source} value={given.source} empty="–" options={sources.map(([value, label]) => ({ value, label }))} onValue={give('source')} />
        <SelectField label={P.place} value={given.place} empty="–" options={(places.data?.places ?? []).map((one) => ({ value: one.id, label: one.name }))} onValue={give('place')} />
        <SelectField label={P.form} value={given.form} options={words(FORMS)} onValue={give('form')} />
        <SelectField label={P.use} value={given.use} options={words(USES)} onValue={give('use')} />
        <SelectField label={P.dates} value={given.dates} onValue={give('dates')}
          options={[{ value: 'ask', label: P.datesAsk }, { value: 'dmy', label: P.datesDmy }, { value: 'mdy', label: P.datesMdy }]} />
      </div>
      <p class="acts"><button type="button" disabled={!file} onClick={() => void send(true)}>{P.lookAt}</button></p>
      {sheet && !sheet.is_recorded && <Seen sheet={sheet} onMatch={onMatch} />}
      {sheet && !sheet.is_recorded && sheet.rows.length > 0 && sheet.troubles.length === 0 && (
        <p class="acts"><button type="button" disabled={work.isBusy} onClick={once(() => void send(false))}>{P.recordSheet}</button></p>
      )}
      {work.job && <WorkLine at={work.job} text={P.recordingSheet} onCancel={work.cancel} />}
      <div role="status">
        {work.outcome?.is === 'cancelled' && <p>{W.cancelled}</p>}
        {sheet?.is_recorded && (
          <p class="acts">{tn(P.recorded, sheet.rows.length)} <button type="button" onClick={() => void undo()}>{P.undo}</button></p>
        )}
        {told && <p>{told}</p>}
      </div>
    </section>
  );
}
