import { Heading } from '../parts/screen';
import { S } from '../strings.en';

export function NotFound() {
  return (
    <>
      <Heading title={S.notFound}>{S.notFound}</Heading>
      <p><a href="/">{S.notFoundText}</a></p>
    </>
  );
}
