// At the computer: opens the network when it is closed, shows the code for a phone, and asks the keeper whether the
// phone that came is the one in hand.
import { useEffect, useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, refusal, settle, type Schemas, type Trouble } from '../api';
import { ChoiceField } from '../parts/form';
import { Qr } from '../parts/qr';
import { Heading, Shown } from '../parts/screen';
import { once } from '../record/use';
import { PAIR_PATH } from '../session';
import { S, t } from '../strings.en';
import { pair as P } from '../strings/pair.en';

type Lan = Schemas['Lan'];
type Pairing = Schemas['Pairing'];

const POLL_MS = 1_000;
const EMPTY = {} as never;

export const spaced = (digits: string): string => `${digits.slice(0, 3)} ${digits.slice(3)}`;

function clock(seconds: number): string {
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}

function Help({ port }: { port: number }) {
  return (
    <details>
      <summary>{P.help}</summary>
      <ul class="dots">{P.helpLines.map((line) => <li key={line}>{t(line, { port })}</li>)}</ul>
    </details>
  );
}

function Refusal({ trouble }: { trouble: Trouble | undefined }) {
  if (!trouble) return null;
  return (
    <div class="trouble" role="alert">
      <p><b>{trouble.status === 0 ? S.unreachable : trouble.title}</b></p>
      {trouble.status !== 0 && trouble.detail && <p>{trouble.detail}</p>}
    </div>
  );
}

/** The network is closed: which address is to be opened. */
function Network({ lan, onOpen }: { lan: Lan; onOpen: (address: string) => void }) {
  const [chosen, setChosen] = useState(lan.addresses[0]?.address ?? '');
  if (lan.addresses.length === 0) return <p>{P.noAddress}</p>;
  const options = lan.addresses.map((one) => ({
    value: one.address,
    label: one.address,
    about: [t(one.is_wireless ? P.wireless : P.wired, { interface: one.interface }), one.is_private ? '' : P.isPublic].filter(Boolean).join('; '),
  }));
  return (
    <section aria-labelledby="network">
      <h2 id="network">{P.network}</h2>
      <p>{P.networkText}</p>
      <ChoiceField label={P.address} value={chosen} onValue={setChosen} options={options} />
      <p class="note">{P.trust}</p>
      <button type="button" class="main-act" onClick={once(() => onOpen(chosen))}>{P.open}</button>
    </section>
  );
}

/** The code, as long as no phone has come. */
function Offer({ offer, leftS, url }: { offer: Pairing; leftS: number; url: string }) {
  return (
    <div class="pairing">
      <div>
        <h2>{P.scan}</h2>
        {offer.qr && <Qr rows={offer.qr} label={P.qrLabel} />}
      </div>
      <div class="typed">
        <h2>{P.orType}</h2>
        <p class="address">{url}{PAIR_PATH}</p>
        <p class="quiet" id="digits">{P.digits}</p>
        <p class="digits" aria-labelledby="digits">{spaced(offer.code ?? '')}</p>
        <p class="quiet" role="timer" aria-live="off">{t(P.left, { time: clock(leftS) })}</p>
        <p class="note">{P.trust}</p>
      </div>
    </div>
  );
}

function Asked({ now, onAnswer }: { now: Pairing; onAnswer: (isAllowed: boolean) => void }) {
  return (
    <section class="asked-in" aria-labelledby="asks">
      <h2 id="asks"><bdi>{t(P.asks, { name: now.name ?? '' })}</bdi></h2>
      <p>{now.is_typed ? P.asksTyped : P.asksScanned}</p>
      <p class="digits">{spaced(now.code ?? '')}</p>
      <p>{P.compare}</p>
      <p class="acts">
        <button type="button" class="main-act" onClick={once(() => onAnswer(true))}>{P.allow}</button>
        <button type="button" onClick={once(() => onAnswer(false))}>{P.refuse}</button>
      </p>
    </section>
  );
}

const isRunning = (state: Pairing['state']) => state === 'offered' || state === 'asking' || state === 'allowed';

/** How it ended, in words. */
function ending(now: Pairing): string {
  if (now.state === 'refused') return P.refused;
  if (now.state === 'expired') return P.expired;
  return now.state === 'blocked' ? P.blocked : '';
}

function Pair({ lan: first }: { lan: Lan }) {
  const [lan, setLan] = useState(first);
  const [offer, setOffer] = useState<Pairing>();
  const [now, setNow] = useState<Pairing>();
  const [trouble, setTrouble] = useState<Trouble>();
  const state = now?.state ?? 'none';

  useEffect(() => {
    if (!isRunning(state)) return;
    const timer = setInterval(() => {
      void settle(client.GET('/api/v1/pairing')).then((answer) => {
        if ('data' in answer) setNow(answer.data);
      });
    }, POLL_MS);
    return () => clearInterval(timer);
  }, [state]);

  const show = async () => {
    const made = await settle(client.POST('/api/v1/pairing', { body: EMPTY } as never));
    setTrouble('trouble' in made ? made.trouble : undefined);
    if ('trouble' in made) return;
    setOffer(made.data as Pairing);
    setNow(made.data as Pairing);
  };
  const open = async (address: string) => {
    const opened = await settle(client.POST('/api/v1/lan', { body: { address } }));
    setTrouble('trouble' in opened ? opened.trouble : undefined);
    if ('trouble' in opened) return;
    setLan(opened.data);
    await show();
  };
  const answer = async (isAllowed: boolean) => {
    if (isAllowed) {
      const said = await settle(client.POST('/api/v1/pairing/allow', { body: EMPTY } as never));
      setTrouble('trouble' in said ? said.trouble : undefined);
      if ('data' in said) setNow(said.data as Pairing);
      return;
    }
    await refusal(client.DELETE('/api/v1/pairing', { headers: { 'Content-Type': 'application/json' } }));
    setNow((old) => old && { ...old, state: old.state === 'offered' ? 'none' : 'refused' });
  };

  return (
    <>
      <Refusal trouble={trouble} />
      {!lan.is_open && <Network lan={lan} onOpen={(address) => void open(address)} />}
      <div role="status">
        {state === 'asking' && now && <span class="hidden">{t(P.asks, { name: now.name ?? '' })}</span>}
        {state === 'allowed' && now && <p>{t(P.waits, { name: now.name ?? '' })}</p>}
        {state === 'joined' && now && (
          <>
            <p class="lead"><bdi>{t(P.joined, { name: now.name ?? '' })}</bdi></p>
            <p>{P.joinedText} <a href="/devices">{S.pages.devices.name}</a></p>
          </>
        )}
        {now && ending(now) && <p class="lead">{ending(now)}</p>}
      </div>
      {state === 'offered' && offer && now && <Offer offer={offer} leftS={now.left_s} url={lan.url ?? ''} />}
      {state === 'asking' && now && <Asked now={now} onAnswer={(isAllowed) => void answer(isAllowed)} />}
      {lan.is_open && !isRunning(state) && (
        <>
          {state === 'none' && <p class="note">{P.trust}</p>}
          <p class="acts"><button type="button" class="main-act" onClick={once(() => void show())}>{state === 'none' ? P.show : P.again}</button></p>
        </>
      )}
      {state === 'offered' && <p class="acts"><button type="button" onClick={once(() => void answer(false))}>{P.stop}</button></p>}
      <Help port={lan.port} />
    </>
  );
}

export default function PairScreen() {
  const lan = useAnswer('lan', () => client.GET('/api/v1/lan'));
  return (
    <Shown answer={lan} title={P.title}>
      {(data) => (
        <div class="column">
          <Heading title={P.title}>{P.title}</Heading>
          <p class="lead">{P.lead}</p>
          <Pair lan={data} />
        </div>
      )}
    </Shown>
  );
}
