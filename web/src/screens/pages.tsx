// All pages, by what one wants.
import { Heading } from '../parts/screen';
import { pageLinks, type PageGroup } from '../screens';
import { S } from '../strings.en';

export default function PagesScreen() {
  const groups = Object.keys(S.pages.groups) as PageGroup[];
  return (
    <>
      <div class="head">
        <Heading title={S.pages.title}>{S.pages.title}</Heading>
        <p class="lead">{S.pages.lead}</p>
      </div>
      <div class="groups">
        {groups.filter((group) => pageLinks.some((link) => link.group === group)).map((group) => (
          <section key={group} aria-labelledby={`group-${group}`}>
            <h2 id={`group-${group}`}>{S.pages.groups[group]}</h2>
            <ul class="lines bare">
              {pageLinks.filter((link) => link.group === group).map((link) => (
                <li key={link.to} class="line">
                  <div>
                    <a class="line-link" href={link.to}>{link.name}</a>
                    <p class="quiet">{link.about}</p>
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
