// Builds: what to use, cut or buy by when, for all of them together.
import { useAnswer } from '../answer';
import { client, type Schemas } from '../api';
import { day } from '../format';
import { BinSpans } from '../parts/binspans';
import { Heading, Shown } from '../parts/screen';
import { once, useRecord } from '../record/use';
import { paths } from '../router';
import { t, tn } from '../strings.en';
import { builds as B } from '../strings/builds.en';

type Builds = Schemas['Builds'];
type Build = Schemas['Build'];

const litres = (n: number) => new Intl.NumberFormat(undefined, { maximumFractionDigits: 1 }).format(n);

function Materials({ build }: { build: Build }) {
  if (build.materials.length === 0 && build.substrate_l === null && build.drainage_l === null) return null;
  return (
    <details>
      <summary>{B.materials}</summary>
      <ul class="dots">
        {build.substrate_l !== null && <li>{t(B.substrate, { n: litres(build.substrate_l) })}</li>}
        {build.drainage_l !== null && <li>{t(B.drainage, { n: litres(build.drainage_l) })}</li>}
        {build.materials.map((material) => (
          <li key={material.name}>
            {material.volume_l === null ? material.name : t(B.litres, { name: material.name, n: litres(material.volume_l) })}
            {material.parts.length > 0 && (
              <ul>
                {material.parts.map((part) => (
                  <li key={part.component}>{t(B.parts, { name: part.component, n: litres(part.volume_l) })}</li>
                ))}
              </ul>
            )}
          </li>
        ))}
      </ul>
    </details>
  );
}

function Reasons({ build }: { build: Build }) {
  const asked = build.lines.filter((line) => line.ways.length > 0);
  return (
    <details>
      <summary>{B.reasons}</summary>
      {asked.length > 0 && (
        <>
          <h3>{B.ways}</h3>
          <ul class="dots">
            {asked.map((line, k) => (
              <li key={k}>
                {line.plant}
                <ul>{line.ways.map((way) => <li key={way.text}>{way.is_taken ? <b>{way.text}</b> : way.text}</li>)}</ul>
              </li>
            ))}
          </ul>
        </>
      )}
      <h3>{B.fits}</h3>
      <ul class="dots">{build.suitability.map((fit) => <li key={fit.plant}>{fit.plant}: {fit.text}</li>)}</ul>
    </details>
  );
}

function OneBuild({ build, today }: { build: Build; today: string }) {
  const { record } = useRecord();
  const finish = once(() => void record(t(B.toldDone, { name: build.name }), [
    {
      kind: 'build_planned',
      body: {
        build: build.id, name: build.name, need_by: build.need_by_on, enclosure: build.enclosure?.id, plan_json: { is_done: true },
      },
    },
  ]));
  return (
    <section aria-labelledby={`build-${build.code}`}>
      <h2 id={`build-${build.code}`}>{build.name}</h2>
      <p class="quiet">
        {t(B.needBy, { date: day(build.need_by_on, today), uses: build.uses_text })}
        {build.enclosure && <> · <a href={paths.place(build.enclosure.code)}>{build.enclosure.name}</a></>}
        {' · '}{tn(B.settle, build.settle_days)}
      </p>
      <p class="lead">{build.text}</p>
      <h3>{B.todo}</h3>
      <ul class="lines bare">
        {build.lines.map((line, k) => (
          <li class="line" key={k}>
            <p>{line.text}{line.lot && <> <a href={paths.lot(line.lot.code)}>{line.lot.code}</a></>}</p>
          </li>
        ))}
      </ul>
      {build.sum_text && <p>{build.sum_text}</p>}
      <Materials build={build} />
      <Reasons build={build} />
      <p class="acts">
        <a class="act" href={`/builds/plan/${build.code}`}>{B.again}</a>
        <button type="button" onClick={finish}>{B.done}</button>
      </p>
    </section>
  );
}

function All({ data, today }: { data: Builds; today: string }) {
  if (data.builds.length === 0) {
    return <div class="empty"><p class="lead">{B.none}</p><p>{B.noneText}</p></div>;
  }
  return (
    <>
      <p class="lead">{data.text}</p>
      {data.helps.length > 0 && (
        <>
          <h3>{B.helps}</h3>
          <ul class="dots">{data.helps.map((help) => <li key={help.help}>{help.text}</li>)}</ul>
        </>
      )}
      {data.builds.map((build) => <OneBuild key={build.id} build={build} today={today} />)}
      <BinSpans data={data} today={today} />
    </>
  );
}

export default function BuildsScreen() {
  const answer = useAnswer('builds', () => client.GET('/api/v1/builds'));
  const room = useAnswer('room', () => client.GET('/api/v1/room'));
  const today = room.data?.today_on ?? '';
  return (
    <Shown answer={answer} title={B.title}>
      {(data) => (
        <div class="column">
          <Heading title={B.title}>{B.title}</Heading>
          <p><a class="act" href="/builds/plan">{B.plan}</a></p>
          <All data={data} today={today} />
        </div>
      )}
    </Shown>
  );
}
