// Pictures drawn in ink: hatching for what is uncertain, dashes for limits, open circles for what was measured.
import type { Outlook, PayCurve } from '../api';
import { clock, day, dayOf } from '../words';
import { pct } from '../units';
import { More, Scroll, useMedia } from './ui';

/** A Point is a reading; error is one standard deviation of it, where the model has one. */
export interface Point { at: number; pct: number; error?: number | undefined }

/** Hatch is a pattern of slanted lines; the nearer they stand, the likelier the ground under them. */
function Hatch({ id, gap, weight }: { id: string; gap: number; weight: number }) {
  return (
    <pattern id={id} width={gap} height={gap} patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
      <line x1="0" y1="0" x2="0" y2={gap} stroke-width={weight} />
    </pattern>
  );
}

interface Frame { width: number; height: number; left: number; right: number; top: number; foot: number }
const frame = (narrow: boolean): Frame => (narrow ? { width: 400, height: 330, left: 40, right: 12, top: 14, foot: 50 } : { width: 860, height: 360, left: 48, right: 84, top: 16, foot: 52 });

function niceTicks(low: number, high: number, most: number): number[] {
  const step = [0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000].find((s) => (high - low) / s <= most) ?? 2000;
  const out: number[] = [];
  for (let v = Math.ceil(low / step) * step; v <= high + 1e-9; v += step) out.push(v);
  return out;
}

/** Fan is a field's moisture to come: its bands, its limit, what was read, and the hours it can be cut. */
export function Fan({ outlook, readings, zone, horizon, name }: { outlook: Outlook; readings: Point[]; zone: string; horizon: string | null; name: string }) {
  const narrow = useMedia('(max-width: 44rem)');
  const f = frame(narrow);
  const now = Date.parse(outlook.as_of);
  const hours = outlook.hours.map((h) => ({ ...h, at: Date.parse(h.time) }));
  const first = hours[0];
  const last = hours.at(-1);
  if (!first || !last) return <p>There is no outlook to draw yet.</p>;
  const from = now - 36 * 3_600_000;
  const shown = readings.filter((r) => r.at >= from && r.at <= last.at);
  const low = Math.floor(Math.min(outlook.limit_pct, ...hours.map((h) => h.p10_pct), ...shown.map((r) => r.pct)) - 1);
  const high = Math.ceil(Math.max(outlook.limit_pct, ...hours.map((h) => h.p90_pct), ...shown.map((r) => r.pct)) + 1);
  const x = (t: number) => f.left + ((t - from) / (last.at - from)) * (f.width - f.left - f.right);
  const y = (v: number) => f.top + ((high - v) / (high - low)) * (f.height - f.top - f.foot);
  const end = horizon ? Date.parse(`${horizon}T23:59:59Z`) : last.at;
  const near = hours.filter((h) => h.at <= end);
  const far = hours.filter((h) => h.at >= (near.at(-1)?.at ?? 0));
  const band = (some: typeof hours, lo: 'p10_pct' | 'p25_pct', hi: 'p90_pct' | 'p75_pct') =>
    some.length < 2 ? '' : `M${some.map((h) => `${x(h.at).toFixed(1)},${y(h[hi]).toFixed(1)}`).join('L')}L${some.toReversed().map((h) => `${x(h.at).toFixed(1)},${y(h[lo]).toFixed(1)}`).join('L')}Z`;
  const line = `M${hours.map((h) => `${x(h.at).toFixed(1)},${y(h.p50_pct).toFixed(1)}`).join('L')}`;
  const base = f.height - f.foot;
  const labelled = outlook.days.filter((_, i) => i % (narrow ? 3 : 2) === 0);
  const noon = (d: string) => hours.find((h) => dayOf(h.time, zone) === d)?.at;
  return (
    <figure class="chart">
      <svg viewBox={`0 0 ${f.width} ${f.height}`} role="img" aria-label={fanSentence(outlook, name)}>
        <defs><Hatch id="wide" gap={7} weight={1} /><Hatch id="tight" gap={3.6} weight={1.1} /><Hatch id="sparse" gap={13} weight={0.9} /><Hatch id="sparser" gap={7} weight={0.9} /></defs>
        {niceTicks(low, high, narrow ? 6 : 7).map((v) => <g key={v}><line class="axis" x1={f.left} x2={f.width - f.right} y1={y(v)} y2={y(v)} stroke-opacity="0.35" /><text x={f.left - 8} y={y(v) + 5} text-anchor="end">{v}</text></g>)}
        <path d={band(near, 'p10_pct', 'p90_pct')} fill="url(#wide)" /><path d={band(near, 'p25_pct', 'p75_pct')} fill="url(#tight)" />
        <path d={band(far, 'p10_pct', 'p90_pct')} fill="url(#sparse)" /><path d={band(far, 'p25_pct', 'p75_pct')} fill="url(#sparser)" />
        <path class="line" d={line} />
        <line class="limit" x1={f.left} x2={f.width - f.right} y1={y(outlook.limit_pct)} y2={y(outlook.limit_pct)} />
        <text x={f.left + 2} y={y(outlook.limit_pct) - 6} font-weight="700">limit {pct(outlook.limit_pct, outlook.limit_pct % 1 ? 1 : 0)}</text>
        <line class="now" x1={x(now)} x2={x(now)} y1={f.top} y2={base} /><text x={x(now) + 4} y={f.top + 11} font-weight="700">now</text>
        {shown.map((r) => <g key={r.at}>{r.error !== undefined && <line class="stem" x1={x(r.at)} x2={x(r.at)} y1={y(r.pct - r.error)} y2={y(r.pct + r.error)} />}<circle class="reading" cx={x(r.at)} cy={y(r.pct)} r={6} /></g>)}
        <line class="axis" x1={f.left} x2={f.width - f.right} y1={base} y2={base} />
        {outlook.days.map((d) => d.opens && d.closes && d.odds_fit >= 0.5 && <line key={d.day} class="tick" x1={x(Date.parse(d.opens))} x2={x(Date.parse(d.closes))} y1={base + 7} y2={base + 7} />)}
        {labelled.map((d) => { const at = noon(d.day); return at !== undefined && <text key={d.day} x={x(at)} y={base + 30} class="soft">{day(d.day).replace(narrow ? / \w+$/ : /$^/, '')}</text>; })}
        {!narrow && <text x={f.width - f.right + 8} y={y(last.p50_pct) + 5}>median</text>}
      </svg>
      <figcaption>Moisture in percent. The line is the median; half of all weathers lie in the close hatching, 8 in 10 in the wide one{far.length > 1 && near.length > 1 ? ', sparser where no forecast reaches' : ''}. Circles are readings, with a stem of one standard error. Bars along the foot are the hours it can be cut, on days with even odds or better.</figcaption>
      <More what="the numbers">
        <Scroll label="Outlook, day by day">
          <table>
            <thead><tr><th scope="col">Day</th><th scope="col">Noon, median</th><th scope="col">8 in 10</th><th scope="col">Can be cut</th><th scope="col">Opens</th><th scope="col">Closes</th></tr></thead>
            <tbody>
              {outlook.days.map((d) => {
                const h = hours.find((one) => dayOf(one.time, zone) === d.day && clock(one.time, zone) >= '12:00') ?? hours.find((one) => dayOf(one.time, zone) === d.day);
                return (
                  <tr key={d.day}><th scope="row">{day(d.day)}</th><td>{h ? pct(h.p50_pct) : '–'}</td><td>{h ? `${pct(h.p10_pct)} to ${pct(h.p90_pct)}` : '–'}</td>
                    <td>{Math.round(Math.min(0.98, Math.max(0.02, d.odds_fit)) * 100)} in 100</td><td>{d.opens ? clock(d.opens, zone) : '–'}</td><td>{d.closes ? clock(d.closes, zone) : '–'}</td></tr>
                );
              })}
            </tbody>
          </table>
        </Scroll>
      </More>
    </figure>
  );
}

function fanSentence(o: Outlook, name: string): string {
  const [a, b] = [o.hours[0], o.hours.at(-1)];
  if (!a || !b) return `No outlook of ${name}.`;
  const fit = o.days.find((d) => d.odds_fit >= 0.5);
  return `${name}: moisture about ${pct(a.p50_pct)} now and about ${pct(b.p50_pct)} on ${day(b.time)}, 8 in 10 then between ${pct(b.p10_pct)} and ${pct(b.p90_pct)}; the limit is ${pct(o.limit_pct)}. ` +
    (fit ? `First day with even odds or better: ${day(fit.day)}.` : 'No day yet has even odds.');
}

/** Curve is one figure over the days of waiting, with its band where there is one. */
export function Curve({ points, label, sentence, format }: { points: { x: number; y: number; low?: number; high?: number; label: string }[]; label: string; sentence: string; format: (y: number) => string }) {
  const narrow = useMedia('(max-width: 44rem)');
  const f = { ...frame(narrow), height: 250, left: narrow ? 58 : 66, right: 20 };
  if (points.length < 2) return null;
  const xs = points.map((p) => p.x);
  const ys = points.flatMap((p) => [p.y, p.low ?? p.y, p.high ?? p.y]).concat(0);
  const [low, high] = [Math.min(...ys), Math.max(...ys)];
  const pad = (high - low || 1) * 0.08;
  const x = (v: number) => f.left + 8 + ((v - Math.min(...xs)) / (Math.max(...xs) - Math.min(...xs))) * (f.width - f.left - f.right - 8);
  const y = (v: number) => f.top + ((high + pad - v) / (high - low + 2 * pad)) * (f.height - f.top - f.foot);
  return (
    <figure class="chart">
      <svg viewBox={`0 0 ${f.width} ${f.height}`} role="img" aria-label={sentence}>
        <defs><Hatch id="curve" gap={7} weight={1} /></defs>
        {niceTicks(low, high, 5).map((v) => <g key={v}><line class="axis" x1={f.left} x2={f.width - f.right} y1={y(v)} y2={y(v)} stroke-opacity={v === 0 ? 1 : 0.35} /><text x={f.left - 8} y={y(v) + 5} text-anchor="end">{format(v)}</text></g>)}
        {points.every((p) => p.low !== undefined) && <path fill="url(#curve)" d={`M${points.map((p) => `${x(p.x)},${y(p.high!)}`).join('L')}L${points.toReversed().map((p) => `${x(p.x)},${y(p.low!)}`).join('L')}Z`} />}
        <path class="line" d={`M${points.map((p) => `${x(p.x)},${y(p.y)}`).join('L')}`} />
        {points.map((p) => <g key={p.x}><circle class="reading" cx={x(p.x)} cy={y(p.y)} r={5} />{(!narrow || p.x % 2 === 1 || p.x === 0) && <text x={x(p.x)} y={f.height - 18} text-anchor="middle" class="soft">{p.label}</text>}</g>)}
      </svg>
      <figcaption>{label}</figcaption>
    </figure>
  );
}

/** Pays is what a posted schedule pays for a gross bushel along the moistures: steps as they are posted, and where it turns a load away. */
export function Pays({ curve, what }: { curve: PayCurve; what: string }) {
  const narrow = useMedia('(max-width: 44rem)');
  const f = { ...frame(narrow), height: narrow ? 240 : 260, right: narrow ? 16 : 40 };
  const points = curve.points.map(([m, usd]) => ({ m: Number(m), usd: usd === null ? null : Number(usd) }));
  const paid = points.filter((p): p is { m: number; usd: number } => p.usd !== null);
  const [first, last] = [points[0], points.at(-1)];
  if (!first || !last || paid.length < 2) return null;
  const top = Math.max(Number(curve.price_usd), ...paid.map((p) => p.usd));
  const low = Math.min(...paid.map((p) => p.usd));
  const pad = Math.max((top - low) * 0.12, 0.02);
  const x = (m: number) => f.left + 14 + ((m - first.m) / (last.m - first.m)) * (f.width - f.left - f.right - 14);
  const y = (v: number) => f.top + ((top + pad - v) / (top - low + 2 * pad)) * (f.height - f.top - f.foot);
  const end = paid.at(-1)!;
  const refused = points.some((p) => p.usd === null);
  const base = f.height - f.foot;
  const ticks = [0.05, 0.1, 0.2, 0.25, 0.5, 1, 2, 5].map((s) => ({ s, n: (top - low + 2 * pad) / s })).find(({ n }) => n <= 6)?.s ?? 10;
  const marks: number[] = [];
  for (let v = Math.ceil((low - pad) / ticks) * ticks; v <= top + pad; v += ticks) marks.push(v);
  // Steps: a tenth of a point pays the same until the next one.
  const path = paid.map((p, i) => `${i ? `H${x(p.m).toFixed(1)}V${y(p.usd).toFixed(1)}` : `M${x(p.m).toFixed(1)},${y(p.usd).toFixed(1)}`}`).join('');
  const free = paid.filter((p) => p.usd === paid[0]!.usd).at(-1)!;
  const sentence = `${what}: a gross bushel pays $${paid[0]!.usd.toFixed(2)} up to ${free.m} %, $${end.usd.toFixed(2)} at ${end.m} %${refused ? ', and nothing over that: refused' : ''}.`;
  return (
    <figure class="chart">
      <svg viewBox={`0 0 ${f.width} ${f.height}`} role="img" aria-label={sentence}>
        <defs><Hatch id="refused" gap={6} weight={1} /></defs>
        {marks.map((v) => <g key={v}><line class="axis" x1={f.left + 14} x2={f.width - f.right} y1={y(v)} y2={y(v)} stroke-opacity="0.35" /><text x={f.left + 8} y={y(v) + 5} text-anchor="end">{`$${v.toFixed(2)}`}</text></g>)}
        {refused && <><rect x={x(end.m)} y={f.top} width={f.width - f.right - x(end.m)} height={base - f.top} fill="url(#refused)" /><text x={x(end.m) + 6} y={f.top + 16} font-weight="700">refused</text></>}
        <path class="line" d={path} />
        <line class="axis" x1={f.left + 14} x2={f.width - f.right} y1={base} y2={base} />
        {niceTicks(first.m, last.m, narrow ? 5 : 9).map((m) => <text key={m} x={x(m)} y={base + 22} text-anchor="middle" class="soft">{m} %</text>)}
      </svg>
      <figcaption>Dollars for a bushel as it comes over the scale, by its moisture, at {`$${curve.price_usd}`}; everything else as if within the buyer’s limits.</figcaption>
    </figure>
  );
}
