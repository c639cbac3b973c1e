// Which bin: every choice with what it costs; the record goes ahead whatever is chosen.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, type LotBrief } from '../api';
import type { components } from '../../build/api';
import { LotTicks, useLots } from '../parts/pick';
import { Heading, Shown, TroubleBox } from '../parts/screen';
import { once, useRecord } from '../record/use';
import { go, paths } from '../router';
import type { ScreenProps } from '../screens';
import { tell as T } from '../strings/tell.en';
import { S, t } from '../strings.en';

const P = T.put;
type Price = components['schemas']['Price'];

function Choice({ price, onTake }: { price: Price; onTake: () => void }) {
  return (
    <li class="price">
      <h2>{price.place.name}{price.is_best && <span class="state">{P.best}</span>}</h2>
      <p>{price.text}</p>
      {price.is_free && <p class="quiet">{P.free}</p>}
      <button type="button" class={price.is_best ? 'main-act' : ''} onClick={once(onTake)}>
        {price.is_free || price.is_best ? P.here : P.anyway}<span class="hidden">: {price.place.name}</span>
      </button>
    </li>
  );
}

function Prices({ lots }: { lots: LotBrief[] }) {
  const { record } = useRecord();
  const codes = lots.map((lot) => lot.code).join(',');
  const answer = useAnswer(`prices ${codes}`, () => client.GET('/api/v1/prices', { params: { query: { lots: codes } } }));
  const take = (price: Price) => {
    const what = t(P.told, { lots: lots.map((lot) => lot.name).join(', '), place: price.place.name });
    const note = !price.is_free && price.price_text ? { note: t(P.note, { text: price.price_text }) } : {};
    void record(what, [{ kind: 'lot_moved', ...note, body: { lots: lots.map((lot) => lot.id), to: price.place.id } }]);
    go(paths.place(price.place.code));
  };
  const { data } = answer;
  if (answer.trouble && !data) return <TroubleBox trouble={answer.trouble} again={answer.again} />;
  if (!data) return <p role="status" class="quiet">{answer.isLate ? S.loading : ''}</p>;
  return (
    <>
      {data.prices.length === 0 && <p>{P.none}</p>}
      {data.prices[0] && !data.prices[0].is_fit_to_join && <p class="note">{P.unfit}</p>}
      <ol class="prices">{data.prices.map((price) => <Choice key={price.place.id} price={price} onTake={() => take(price)} />)}</ol>
      <p><a href="/new/place">{P.newPlace}</a></p>
    </>
  );
}

function Put({ lots, wanted }: { lots: LotBrief[]; wanted: string[] }) {
  const asked = lots.filter((lot) => wanted.includes(lot.code) || wanted.includes(lot.id));
  const homeless = lots.filter((lot) => lot.phase === 'arrived' || lot.phase === 'cleaned' || asked.includes(lot));
  const [chosen, setChosen] = useState<string[]>((asked.length > 0 ? asked : homeless).map((lot) => lot.id));
  const list = homeless.filter((lot) => chosen.includes(lot.id));
  if (homeless.length === 0) return <p>{P.nobody}</p>;
  return (
    <>
      <LotTicks lots={homeless} chosen={chosen} onChosen={setChosen} legend={P.lots} />
      {list.length > 0 && <Prices key={chosen.join()} lots={list} />}
    </>
  );
}

export default function PutScreen({ query }: ScreenProps) {
  const answer = useLots();
  return (
    <Shown answer={answer} title={P.title}>
      {({ lots }) => (
        <div class="column">
          <Heading title={P.title}>{P.title}</Heading>
          <p class="lead">{P.lead}</p>
          <Put lots={lots} wanted={(query.get('lots') ?? '').split(',')} />
        </div>
      )}
    </Shown>
  );
}
