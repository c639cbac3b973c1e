// What a browser without a session sees. Where it wanted to go is kept for afterwards.
import { useEffect } from 'preact/hooks';
import type { Trouble } from '../api';
import { Heading } from '../parts/screen';
import { keepWish, PAIR_PATH } from '../session';
import { S } from '../strings.en';

export function SignIn({ trouble }: { trouble?: Trouble }) {
  useEffect(() => keepWish(location.pathname + location.search), []);
  return (
    <>
      <Heading title={S.signIn.title}>{S.signIn.title}</Heading>
      {trouble && (
        <div class="trouble" role="alert">
          <p><b>{S.signIn.refused}: {trouble.status === 0 ? S.unreachable : trouble.title}</b></p>
          {trouble.status !== 0 && trouble.detail && <p>{trouble.detail}</p>}
        </div>
      )}
      <p class="lead">{S.signIn.text}</p>
      <h2>{S.signIn.computer}</h2>
      <p>{S.signIn.how}</p>
      <h2>{S.signIn.phone}</h2>
      <p>{S.signIn.phoneHow}</p>
      <p class="acts"><a class="button" href={PAIR_PATH}>{S.signIn.phoneLink}</a></p>
      <p class="quiet">{S.signIn.kept}</p>
    </>
  );
}
