// Everything taken out as one archive: a long job, and then a file to save.
import { useJob } from '../jobs';
import { copies as C } from '../strings/copies.en';
import { JobHere } from './work';

/** Everything taken out: the archive is made while others are answered, and fetched when it is done. */
export function ExportHere() {
  const work = useJob<undefined>('export', { isFile: true });
  return (
    <JobHere
      work={work} label={C.outDo} text={C.packing} begin={() => work.begin('/api/v1/export')}
      said={(_, href) => <p>{C.packed} <a class="button" href={href} download="room.zip">{C.fetch}</a></p>}
    />
  );
}
