// All fields, with where each stands.
import type { FarmSnapshot } from '../app';
import { Page, RowLink } from '../parts/ui';
import { useUnits } from '../settings';
import { pct } from '../units';
import { adviceWords } from './today';

export function Fields({ snapshot }: { snapshot: FarmSnapshot }) {
  const units = useUnits();
  const advice = (id: string) => snapshot.plan?.sheet.fields.find((a) => a.field === id);
  const left = snapshot.fields.reduce((sum, f) => sum + f.acres - f.cut_acres, 0);
  if (snapshot.fields.length === 0) {
    return <Page title="Fields"><p>No field stands in the season file yet. <a href="/more/settings">Settings</a> has the season file; a field needs a name, acres, a crop and when it was or will be ripe.</p></Page>;
  }
  return (
    <Page title="Fields" under={<p class="second num">{snapshot.fields.length} fields, {units.area(left)} still to cut.</p>}>
      <ul class="rows">
        {snapshot.fields.map((f) => {
          const a = advice(f.id);
          return (
            <li key={f.id}>
              <RowLink to={`/fields/${encodeURIComponent(f.id)}`} name={f.name} figure={a?.moisture ? pct(a.moisture.mean_pct) : '–'} unit={a?.moisture ? `${pct(a.moisture.p10_pct, 0)} to ${pct(a.moisture.p90_pct, 0)}` : 'not known'}
                middle={a ? adviceWords(a) : 'no plan yet'} say={`${units.area(Math.max(0, f.acres - f.cut_acres))} of ${f.crop} left${f.cut_acres > 0 ? ` of ${units.area(f.acres)}` : ''}${f.limit_pct ? `, limit ${f.limit_pct} %` : ''}.`} />
            </li>
          );
        })}
      </ul>
    </Page>
  );
}
