// What a browser without a session sees.
import type { Trouble } from '../api';
import { Heading } from '../parts/screen';
import { S } from '../strings.en';

export function SignIn({ trouble }: { trouble?: Trouble }) {
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
      <p>{S.signIn.how}</p>
    </>
  );
}
