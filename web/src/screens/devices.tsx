// Who is signed in: named, with the last use; each can be sent away at once. And whether the network is open.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client, refusal, settle, type Schemas } from '../api';
import { Form, TextField } from '../parts/form';
import { Heading, Shown } from '../parts/screen';
import { day } from '../format';
import { nowMs } from '../record/event';
import { once } from '../record/use';
import { useIsDevice } from '../session';
import { S, t } from '../strings.en';
import { devices as D } from '../strings/pair.en';

type Device = Schemas['Device'];
type Lan = Schemas['Lan'];
const JSON_KIND = { headers: { 'Content-Type': 'application/json' } };

/** "just now", "5 minutes ago", "7 hours ago", "19 March". */
function ago(at: string): string {
  const minutes = Math.round((nowMs() - Date.parse(at)) / 60_000);
  if (minutes < 2) return D.ago.now;
  if (minutes < 90) return t(D.ago.minutes, { n: minutes });
  return minutes < 36 * 60 ? t(D.ago.hours, { n: Math.round(minutes / 60) }) : day(at.slice(0, 10));
}

function Change({ device, onSaid }: { device: Device; onSaid: (said: string) => void }) {
  const [name, setName] = useState(device.name);
  const [problem, setProblem] = useState<string>();
  const path = { params: { path: { id: device.id } } };
  const rename = async () => {
    const missing = name.trim() ? undefined : D.nameMissing;
    setProblem(missing);
    if (missing) return { name: missing };
    const answer = await settle(client.PUT('/api/v1/devices/{id}', { ...path, body: { name: name.trim() } }));
    onSaid('trouble' in answer ? answer.trouble.detail || answer.trouble.title : '');
    return {};
  };
  const sendAway = async () => {
    const refused = await refusal(client.DELETE('/api/v1/devices/{id}', { ...path, ...JSON_KIND }));
    onSaid(refused ?? t(D.gone, { name: device.name || D.unnamed }));
  };
  return (
    <details>
      <summary>{D.rename}<span class="hidden">: {device.name || D.unnamed}</span></summary>
      {device.label && <p class="quiet">{t(D.label, { label: device.label })}</p>}
      <Form onSubmit={rename} submit={D.keepName}>
        <TextField label={D.name} value={name} onValue={setName} problem={problem} />
      </Form>
      <p class="quiet">{D.awayText}</p>
      <button type="button" onClick={once(() => void sendAway())}>
        {device.is_this ? D.awayThis : D.away}<span class="hidden">: {device.name || D.unnamed}</span>
      </button>
    </details>
  );
}

function Line({ device, isReadOnly, onSaid }: { device: Device; isReadOnly: boolean; onSaid: (said: string) => void }) {
  const isPhone = device.tier === 'device';
  const made = device.made_at ? `, ${t(isPhone ? D.made : D.signedIn, { when: day(device.made_at.slice(0, 10)) })}` : '';
  return (
    <li class="device">
      <b><bdi>{device.name || D.unnamed}</bdi></b>
      {device.is_this && <span class="state">{D.isThis}</span>}
      {(isPhone || device.name) && <p>{isPhone ? D.phone : D.keeper}</p>}
      <p class="quiet">{t(D.seen, { when: ago(device.seen_at) })}{made}</p>
      {!isReadOnly && <Change key={device.name} device={device} onSaid={onSaid} />}
    </li>
  );
}

function Network({ lan, again }: { lan: Lan; again: () => void }) {
  const close = async () => {
    await settle(client.DELETE('/api/v1/lan', JSON_KIND));
    again();
  };
  return (
    <section aria-labelledby="network">
      <h2 id="network">{D.network}</h2>
      <p>{lan.is_open ? t(D.isOpen, { url: lan.url ?? '' }) : D.isShut}</p>
      <p class="acts">
        <a class="button" href="/phone">{D.another}</a>
        {lan.is_open && <button type="button" onClick={once(() => void close())}>{D.close}</button>}
      </p>
    </section>
  );
}

function NetworkPart() {
  const lan = useAnswer('lan', () => client.GET('/api/v1/lan'));
  return lan.data ? <Network lan={lan.data} again={lan.again} /> : null;
}

function SignOut() {
  const signOut = async () => {
    await refusal(client.DELETE('/api/v1/session', JSON_KIND));
    location.replace('/');
  };
  return (
    <>
      <p>{D.atComputer}</p>
      <p class="acts"><button type="button" onClick={once(() => void signOut())}>{D.signOut}</button></p>
    </>
  );
}

export default function DevicesScreen() {
  const answer = useAnswer('devices', () => client.GET('/api/v1/devices'));
  const isDevice = useIsDevice();
  const [said, setSaid] = useState('');
  const tell = (text: string) => {
    setSaid(text);
    answer.again();
  };
  return (
    <Shown answer={answer} title={D.title}>
      {({ devices }) => (
        <div class="column">
          <Heading title={D.title}>{D.title}</Heading>
          <p class="lead">{D.lead}</p>
          <p role="status">{said}</p>
          {devices.length === 0 && <p class="quiet">{D.none}</p>}
          <ul class="devices">{devices.map((one) => <Line key={one.id} device={one} isReadOnly={isDevice} onSaid={tell} />)}</ul>
          {isDevice ? <SignOut /> : <NetworkPart />}
          <p class="acts"><a href="/settings">{S.pages.settings.name}</a></p>
        </div>
      )}
    </Shown>
  );
}
