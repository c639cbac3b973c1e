// Print and share: labels, sheets, the calendar, all data, lots from a spreadsheet. The PDFs are made by the
// server; here are only the choices.
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, settle } from '../api';
import { NumberField, readNumber, SelectField } from '../parts/form';
import { Heading } from '../parts/screen';
import { ExportHere } from '../parts/takeout';
import type { ScreenProps } from '../screens';
import { useIsDevice } from '../session';
import { t } from '../strings.en';
import { paper as P } from '../strings/paper.en';
import { CardIn } from './paper-card';
import { SheetIn } from './paper-sheet';

function Part({ id, title, children }: { id: string; title: string; children: ComponentChildren }) {
  return (
    <section aria-labelledby={id}>
      <h2 id={id}>{title}</h2>
      {children}
    </section>
  );
}

function FileLine({ href, name, about }: { href: string; name: string; about?: string }) {
  return (
    <li class="line">
      <div>
        <a class="line-link" href={href} download>{name}</a>
        {about && <p class="quiet">{about}</p>}
      </div>
    </li>
  );
}

function Labels({ one }: { one: string }) {
  const answer = useAnswer('stocks', () => client.GET('/api/v1/print/stocks'));
  const [stock, setStock] = useState('');
  const [which, setWhich] = useState(one ? 'one' : 'lots');
  const [skip, setSkip] = useState('0');
  const [copies, setCopies] = useState('1');
  const stocks = answer.data?.stocks ?? [];
  const chosen = stock || stocks[0]?.stock || '';
  const most = (stocks.find((each) => each.stock === chosen)?.per_page ?? 1) - 1;
  const readSkip = readNumber(skip, { least: 0, most, isWhole: true });
  const readCopies = readNumber(copies, { least: 1, most: 50, isWhole: true });
  const query = new URLSearchParams({ stock: chosen, skip: String(readSkip.value ?? 0), copies: String(readCopies.value ?? 1) });
  if (which === 'one') query.set('of', one);
  if (which === 'places') query.set('places', '1');
  const options = [
    ...(one ? [{ value: 'one', label: t(P.whichOne, { code: one }) }] : []),
    { value: 'lots', label: P.whichLots },
    { value: 'places', label: P.whichPlaces },
  ];
  return (
    <Part id="labels" title={P.labels}>
      <p>{P.labelsText}</p>
      <div class="form">
        <SelectField label={P.which} value={which} options={options} onValue={setWhich} />
        <SelectField label={P.stock} value={chosen} options={stocks.map((each) => ({ value: each.stock, label: each.text }))} onValue={setStock} />
        {most > 0 && <NumberField label={P.skip} value={skip} onValue={setSkip} isWhole problem={readSkip.problem} />}
        <NumberField label={P.copies} value={copies} onValue={setCopies} isWhole problem={readCopies.problem} />
      </div>
      <p class="acts">
        <a class="button" href={`/api/v1/print/labels?${query}`} download>{P.makeLabels}</a>
        <a href={`/api/v1/print/test-page?${new URLSearchParams({ stock: chosen })}`} download>{P.testPage}</a>
      </p>
      <p class="quiet">{P.testText}</p>
    </Part>
  );
}

function Sheets({ lot, place }: { lot: string; place: string }) {
  const of = (code: string) => encodeURIComponent(code);
  return (
    <>
      {lot && (
        <Part id="of-lot" title={t(P.ofLot, { code: lot })}>
          <ul class="lines bare">
            <FileLine href={`/api/v1/print/card?of=${of(lot)}`} name={P.card} about={P.cardText} />
            <FileLine href={`/api/v1/lots/${of(lot)}/card`} name={P.cardFile} about={P.cardFileText} />
          </ul>
        </Part>
      )}
      {place && (
        <Part id="of-place" title={t(P.ofPlace, { code: place })}>
          <ul class="lines bare"><FileLine href={`/api/v1/print/place?of=${of(place)}`} name={P.placeCard} /></ul>
        </Part>
      )}
      <Part id="sheets" title={P.sheets}>
        <ul class="lines bare">
          <FileLine href="/api/v1/print/evening" name={P.evening} about={P.eveningText} />
          <FileLine href="/api/v1/print/round" name={P.round} about={P.roundText} />
          <FileLine href="/api/v1/print/sitter" name={P.sitter} about={P.sitterText} />
        </ul>
      </Part>
    </>
  );
}

function Calendar() {
  const answer = useAnswer('calendar', () => client.GET('/api/v1/calendar'));
  const [told, setTold] = useState('');
  const [isOpen, setOpen] = useState<boolean | undefined>(undefined);
  const open = isOpen ?? answer.data?.is_open ?? false;
  const [address, setAddress] = useState('');
  const isDevice = useIsDevice();
  const make = async () => {
    const made = await settle(client.POST('/api/v1/calendar/address', { body: {} as never }));
    if ('trouble' in made) return setTold(made.trouble.status === 403 ? P.ownerOnly : made.trouble.title);
    setTold('');
    setOpen(true);
    setAddress(location.origin + made.data.path);
  };
  const close = async () => {
    const response = await fetch('/api/v1/calendar/address', { method: 'DELETE', headers: { 'Content-Type': 'application/json' } });
    setAddress('');
    if (response.ok) setOpen(false);
    setTold(response.ok ? P.calendarClosed : P.ownerOnly);
  };
  return (
    <Part id="calendar" title={P.calendar}>
      <p><a href="/api/v1/calendar.ics" download>{P.calendarFile}</a></p>
      <p>{open ? P.calendarOpen : P.calendarShut}</p>
      <p class="acts">
        {isDevice && <span class="quiet">{P.ownerOnly}</span>}
        {!isDevice && <button type="button" onClick={() => void make()}>{open ? P.calendarNew : P.calendarMake}</button>}
        {open && !isDevice && <button type="button" onClick={() => void close()}>{P.calendarClose}</button>}
      </p>
      <div role="status">
        {address && (
          <>
            <p>{P.calendarAddress}</p>
            <p class="example">{address}</p>
          </>
        )}
        {told && <p>{told}</p>}
      </div>
    </Part>
  );
}

export default function PaperScreen({ query }: ScreenProps) {
  const lot = query.get('lot') ?? '';
  const place = query.get('place') ?? '';
  const isDevice = useIsDevice();
  return (
    <div class="column">
      <div class="head">
        <Heading title={P.title}>{P.title}</Heading>
        <p class="lead">{P.lead}</p>
      </div>
      <Labels key={lot || place} one={lot || place} />
      <Sheets lot={lot} place={place} />
      <Calendar />
      {!isDevice && <SheetIn />}
      {!isDevice && <CardIn />}
      {!isDevice && (
        <Part id="data" title={P.data}>
          <p>{P.dataText}</p>
          <ExportHere />
        </Part>
      )}
    </div>
  );
}
