// What can be told, by what it is about.
import { Heading } from '../parts/screen';
import { tell as T } from '../strings/tell.en';

type Link = keyof typeof T.links;
const GROUPS: [keyof typeof T.groups, [Link, string][]][] = [
  ['home', [['arrive', '/arrive'], ['here', '/moving-in'], ['put', '/put']]],
  ['looks', [['round', '/round'], ['seen', '/found']]],
  ['lots', [['cut', '/lots'], ['lots', '/lots']]],
  ['places', [['places', '/places'], ['history', '/history']]],
  ['names', [['place', '/new/place'], ['source', '/new/source'], ['plant', '/new/plant'], ['bottle', '/new/bottle']]],
];

export default function RecordScreen() {
  return (
    <>
      <div class="head">
        <Heading title={T.title}>{T.title}</Heading>
        <p class="lead">{T.lead}</p>
      </div>
      <div class="groups">
        {GROUPS.map(([group, links]) => (
          <section key={group} aria-labelledby={`group-${group}`}>
            <h2 id={`group-${group}`}>{T.groups[group]}</h2>
            <ul class="lines bare">
              {links.map(([link, to]) => (
                <li key={link} class="line">
                  <div>
                    <a class="line-link" href={to}>{T.links[link].name}</a>
                    <p class="quiet">{T.links[link].about}</p>
                  </div>
                </li>
              ))}
            </ul>
          </section>
        ))}
      </div>
    </>
  );
}
