// The way something came: dated contacts, as a list.
import type { components } from '../../../build/api';
import { day } from '../../format';

export type Contact = components['schemas']['TraceContact'];

export function Chain({ contacts }: { contacts: readonly Contact[] }) {
  return (
    <ol class="chain">
      {contacts.map((contact, k) => (
        <li key={`${contact.at}${k}`}>
          {contact.on && <time dateTime={contact.on}>{day(contact.on)}</time>} <span>{contact.text}</span>
        </li>
      ))}
    </ol>
  );
}
