// Everything that is not looked at each morning.
import type { Snapshot } from '../api';
import { Page, RowLink } from '../parts/ui';
import { count } from '../words';

export function MorePage({ snapshot }: { snapshot: Snapshot }) {
  const pages: [string, string, string, string?][] = [
    ['/more/pencil', 'Pencil', 'Sums of a dashboard and a pencil: shrink, break-even, trucks, axles, bins, losses.'],
    ...(snapshot.farm ? [
      ['/more/books', 'Books', 'Contracts, yields, bins, shares and cheques, each figure led back to its tickets.'],
      ['/more/outlook', 'Outlook days', 'Your own forecast of the days to come, as high and low, rain and dew.', snapshot.outlook.length ? count(snapshot.outlook.length, 'day') : 'none'],
      ['/more/waiting', 'Waiting for a look', 'Entries that are doubtful, and what to do with each.', String(snapshot.waiting.length)],
    ] as [string, string, string, string?][] : []),
    ['/more/sent', 'Sent from this device', 'What was saved here, and what became of each entry.'],
    ['/more/settings', 'Settings', 'Theme, units, who you are, limits and hours, the season file.'],
    ['/more/about', 'About and sources', 'Where the figures come from, cautions, what the program is.'],
  ];
  return (
    <Page title="More">
      <ul class="rows">{pages.map(([to, name, say, figure]) => <li key={to}><RowLink to={to} name={name} say={say} {...(figure ? { figure } : {})} /></li>)}</ul>
      {snapshot.farm && (
        <section aria-labelledby="print-head">
          <h2 id="print-head">On paper</h2>
          <div class="actions"><a class="button" href="/print/day-sheet">Day sheet to print</a><a class="button" href="/print/loads">Loads to print</a></div>
        </section>
      )}
    </Page>
  );
}
