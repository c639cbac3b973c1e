// What could it be: a question at a time, the ranking with its drawings, and the name when it is sure enough.
import { useState } from 'preact/hooks';
import { useAnswer } from '../answer';
import { client } from '../api';
import type { components } from '../../build/api';
import { Figure } from '../parts/found/figure';
import { Heading, TroubleBox } from '../parts/screen';
import { once, useRecord } from '../record/use';
import { go } from '../router';
import type { ScreenProps } from '../screens';
import { SignIn } from './signin';
import { found as F } from '../strings/found.en';
import { t, tn } from '../strings.en';

type Ident = components['schemas']['Ident'];
type Rank = components['schemas']['IdentRank'];
type Sign = components['schemas']['Signs']['signs'][number];
type Given = Readonly<Record<string, string>>;

const CANNOT_TELL = 'cannot_tell';
const LISTED = 6;

function Ask({ question, values, onAnswer }: { question: string; values: readonly { value: string; text: string }[]; onAnswer: (value: string) => void }) {
  return (
    <div role="group" aria-label={question} class="answers">
      {values.map(({ value, text }) => <button key={value} type="button" onClick={() => onAnswer(value)}>{text}</button>)}
      <button type="button" class="unsure" onClick={() => onAnswer(CANNOT_TELL)}>{F.cannotTell}</button>
    </div>
  );
}

function RankLine({ rank, onName }: { rank: Rank; onName: ((rank: Rank) => void) | undefined }) {
  return (
    <li>
      <Figure code={rank.figure} />
      <div>
        <p class="chance-line"><b>{rank.specimen}</b> <span>{rank.prob_text}</span></p>
        <p class="quiet">{rank.is_harmless && <b>{F.harmless} · </b>}{rank.cue}</p>
        {rank.answers_against > 0 && <p class="quiet">{tn(F.against, rank.answers_against)}</p>}
        {onName && <button type="button" onClick={once(() => onName(rank))}>{F.nameIt}<span class="hidden">: {rank.specimen}</span></button>}
      </div>
    </li>
  );
}

function Answers({ given, signs, onTake }: { given: Given; signs: readonly Sign[]; onTake: (sign: string) => void }) {
  const told = Object.entries(given);
  if (told.length === 0) return null;
  return (
    <section aria-labelledby="answers">
      <h2 id="answers">{F.aidAnswers}</h2>
      <ul class="given">
        {told.map(([sign, value]) => {
          const found = signs.find((one) => one.sign === sign);
          const question = found?.question ?? sign;
          return (
            <li key={sign}>
              <span>{question} <b>{found?.values.find((one) => one.value === value)?.text ?? F.cannotTell}</b></span>
              <button type="button" class="bare-button" onClick={() => onTake(sign)}><span aria-hidden="true">×</span><span class="hidden">{t(F.aidChange, { question })}</span></button>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

function Next({ ident, onAnswer }: { ident: Ident; onAnswer: (sign: string, value: string) => void }) {
  const { next, ranking } = ident;
  if (!next) return <p>{F.aidNothing}</p>;
  const nameOf = (code: string) => ranking.find((rank) => rank.code === code)?.name ?? code;
  return (
    <section class="asked" aria-labelledby="next">
      <p class="kicker">{F.aidAsk}</p>
      <h2 id="next">{next.question}</h2>
      <Ask question={next.question} values={next.values} onAnswer={(value) => onAnswer(next.sign, value)} />
      <p class="quiet">{t(F.aidWhy, { first: nameOf(next.first), second: nameOf(next.second) })}</p>
    </section>
  );
}

function Others({ signs, given, next, onAnswer }: { signs: readonly Sign[]; given: Given; next: string | undefined; onAnswer: (sign: string, value: string) => void }) {
  const left = signs.filter(({ sign }) => !(sign in given) && sign !== next);
  if (left.length === 0) return null;
  return (
    <details>
      <summary>{F.aidOther}</summary>
      {left.map((one) => (
        <div key={one.sign}>
          <h3>{one.question}</h3>
          <Ask question={one.question} values={one.values} onAnswer={(value) => onAnswer(one.sign, value)} />
        </div>
      ))}
    </details>
  );
}

function Naming({ code, ident }: { code: string; ident: Ident }) {
  const answer = useAnswer(`found ${code}`, () => client.GET('/api/v1/found/{id}', { params: { path: { id: code } } }));
  const finding = answer.data?.of;
  const { record, settled } = useRecord();
  const name = async (rank: Rank) => {
    const ids = await record(t(F.named, { name: rank.specimen }), [{ kind: 'finding_identified', body: { finding: finding?.id, threat: rank.code, stage: rank.stage ?? '' } }]);
    await settled(ids, 4_000);
    go(`/found/${code}`);
  };
  return <Ranking ident={ident} onName={finding && !finding.is_retracted ? (rank) => void name(rank) : undefined} />;
}

function Ranking({ ident, onName }: { ident: Ident; onName?: ((rank: Rank) => void) | undefined }) {
  return (
    <section aria-labelledby="ranking">
      <h2 id="ranking">{F.aidList}</h2>
      <div role="status">
        {ident.fits_badly && <p class="note">{F.aidBad}</p>}
        {ident.is_sure && <p class="note">{F.aidSure}</p>}
      </div>
      <ol class="ranking">
        {ident.ranking.slice(0, LISTED).map((rank) => <RankLine key={rank.code} rank={rank} onName={onName} />)}
      </ol>
    </section>
  );
}

export default function WhatScreen({ params }: ScreenProps) {
  const code = params.id ?? '';
  const [given, setGiven] = useState<Given>({});
  const answers = Object.entries(given).map(([sign, value]) => `${sign}:${value}`).join(',');
  const [last, setLast] = useState<Ident>();
  const signs = useAnswer('signs', () => client.GET('/api/v1/signs'));
  const asked = useAnswer(`identify ${answers}`, () => client.GET('/api/v1/identify', { params: { query: answers ? { answers } : {} } }));
  const ident = asked.data ?? last;
  if (asked.data && asked.data !== last) setLast(asked.data);
  const trouble = asked.trouble ?? signs.trouble;
  if (trouble?.status === 401) return <SignIn />;
  const all = signs.data?.signs ?? [];
  const onAnswer = (sign: string, value: string) => setGiven({ ...given, [sign]: value });
  const onTake = (sign: string) => setGiven(Object.fromEntries(Object.entries(given).filter(([one]) => one !== sign)));
  return (
    <>
      <div class="head">
        {code && <p class="kicker"><a href={`/found/${code}`}>{F.back}</a></p>}
        <Heading title={F.aid}>{F.aid}</Heading>
        <p class="lead">{F.aidText}</p>
      </div>
      {trouble && <TroubleBox trouble={trouble} again={asked.again} />}
      {ident && (
        <div class="two">
          <div>
            <Next ident={ident} onAnswer={onAnswer} />
            <Answers given={given} signs={all} onTake={onTake} />
            <Others signs={all} given={given} next={ident.next?.sign} onAnswer={onAnswer} />
            {code && <p><a class="button" href={`/found/${code}`}>{F.noNameKeep}</a></p>}
          </div>
          {code ? <Naming code={code} ident={ident} /> : <Ranking ident={ident} />}
        </div>
      )}
    </>
  );
}
