// The documents of docs/reference/http.md, as far as the pages use them. What is not known is null or left out.

export type Crop = 'soybean' | 'corn' | 'wheat' | 'sorghum' | 'canola' | 'sunflower' | 'barley' | 'oats';

/** What went wrong, in words for a person. `where` is the key of the box it is about. */
export interface Trouble {
  rule: string;
  severity?: string;
  label?: string;
  got?: string;
  want?: string;
  where?: string;
  say: string;
  next?: string;
}

export interface Head { seq: number; hash: string }

export interface Farm {
  id: string; name: string; place: string; zone: string; year: number; lat: number; lon: number;
  limits_pct: Partial<Record<Crop, string>>;
  work_from: string; work_until: string; days_off: string[];
  season_end: string; as_of: string | null; weather_credit: string; contact: string;
}

export interface Entrance { name: string; width_ft: number | null; height_ft: number | null; limit_lb: number | null; note: string }
export interface Share { party: string; name: string; role: string; num: number; den: number }

export interface Field {
  id: string; name: string; crop: Crop; class: string; variety: string;
  acres: number; cut_acres: number; limit_pct: string | null;
  yield_bu_per_acre: number | null; yield_how: string; base_pct?: string | null;
  planted: string | null; relative_maturity: number | null; mature: string | null; evenness: string;
  miles: Record<string, number> | null;
  entrances: Entrance[] | null; shares: Share[] | null;
}

export interface Machine {
  id: string; kind: string; name: string; count: number;
  heads?: { name: string; crops: string[]; width_ft: number }[] | null;
  width_ft?: number | null; height_ft?: number | null; weight_lb?: number | null; holds_bu?: number | null;
  gross_lb?: number | null; tare_lb?: number | null;
  out_until?: string | null; service_due?: string | null;
}

/** What a gross bushel nets at each moisture, [moisture, dollars]; null: refused. */
export interface PayCurve { price_usd: string; points: [string, string | null][] }
export interface Schedule { crop: Crop; file: string; schedule: unknown; words: string[] | null; profile: string[] | null; curve: PayCurve | null; trouble: Trouble | null }

export interface Outlet {
  id: string; name: string; miles: number | null; phone: string; note: string;
  open: { day: string; from: string; until: string }[] | null; closed: string[] | null;
  schedules: Schedule[] | null;
}

export interface Bin { id: string; name: string; crop: Crop | ''; holds_bu: number; in_bu: number; max_moisture_pct: string | null; dryer: string }

export interface Contract {
  id: string; outlet: string; crop: Crop; kind: string; bu: string; applied_bu: string;
  price_usd: string | null; futures_usd: string | null; basis_usd: string | null; from: string | null; until: string | null;
}

interface Entered { id: string; version: string; entered: boolean; waits: string[] | null; by?: string; note?: string }

export interface Reading extends Entered { field: string; at: string; moisture_pct: string; device: string; name: string; spots: number | null; zone: string }
export interface Stage extends Entered { field: string; on: string; stage: string; plants_pct: number | null; zone: string }
export interface Bid extends Entered {
  outlet: string; crop: Crop; cash_usd: string | null; futures_usd: string | null; basis_usd: string | null; price_usd: string | null;
  month: string; from: string | null; until: string | null; at: string;
}
export interface Premium { id: string; outlet: string; crop: Crop; amount_usd: string; from: string | null; until: string | null; cap_bu: number | null; max_moisture_pct: string | null }

export interface OutlookDay {
  on: string; high_f: number | null; low_f: number | null; rain_pct: number | null; amount: string; when: string; dew: string; wind: string; sky: string; at: string;
}

export interface StatementLine {
  row: number | null; factor: string; reading?: string; steps: number; amount: string; unit?: string; lb: string; usd: string; running_usd: string; say: string;
}
export interface Statement {
  net_lb: string; settle_lb: string; gross_bu?: string; net_bu?: string; price_per_bu: string | null; value_usd: string | null; checkoff_usd: string | null;
  charges: { row: number; factor: string; usd: string; amount: string }[] | null;
  net_usd: string | null; lines: StatementLine[] | null; rejected: { row: number; say: string } | null;
}

export interface Load {
  id: string; version: string; day: string; ticket: string; outlet: string; crop: Crop; fields: string[] | null;
  net_lb: number | null; net_kg: number | null; moisture_pct: string | null;
  counted: boolean; void: boolean; waits: string[] | null;
  weights?: { unit: string; gross: number | null; tare: number | null; net: number | null } | null;
  test_weight?: string | null; truck?: string; driver?: string; contract?: string; note?: string; at?: string | null;
  /** What the ticket shows of the grain by the key of its box, and the fields as a person would type them. */
  quality?: Record<string, string>; parts?: string[] | null;
  settlement?: { price_usd: string | null; price_from: string | null; statement: Statement | null; why_not: string | null } | null;
}

export interface LoadSum { key: string; loads: number; net_lb: number; net_kg: number }
export interface Loads { loads: Load[] | null; more: boolean; by: string; sums: LoadSum[] | null; all: Omit<LoadSum, 'key'> }

export interface Choice {
  wait_days: number; usd_per_acre: number; usd: number; se_usd: number; p10_usd: number; p90_usd: number;
  odds_under_limit?: number; odds_by_deadline?: number; deadline?: string;
}
export interface Evidence { what: string; used: boolean; before_pct: number; after_pct: number; weight: number; doubted: boolean; at?: string; said_pct?: number; before_sd_pct?: number; after_sd_pct?: number; why?: string }
export interface Advice {
  field: string; name: string; crop: Crop; acres_left: number;
  moisture?: { mean_pct: number; p10_pct: number; p90_pct: number };
  limit_pct: number; advice: 'cut' | 'wait' | 'cannot'; toss_up: boolean; because: string;
  /** The reason alone, for a row beside the figure; plans kept from before have none. */
  reason?: string;
  /** What a linear program over the coming weeks says of waiting, where it is surer than the rule. */
  looked_ahead?: string;
  choices?: Choice[] | null; flips?: { if: string; then: string }[] | null; holds?: string[] | null;
  goes?: { to: string; contract?: string; share: number; net_usd_per_bu?: number }[] | null;
  readings?: Evidence[] | null; maturity?: string[] | null;
}
export interface Order {
  machine: string; field: string; from: string; to: string; acres: number; bushels: number;
  loads?: { to: string; contract?: string; bushels: number; net_usd_per_bu?: number }[] | null;
  entrance?: string; why: string;
}
export interface TruckLoad {
  number: number; truck: string; truck_name: string; field: string; field_name: string; to: string; to_name: string; contract?: string; bushels: number; pounds: number; overnight: boolean;
  leaves?: string; leaves_p10?: string; leaves_p90?: string; at_scale?: string; at_scale_p10?: string; at_scale_p90?: string; back?: string; entrance?: string; road?: string; tell_the_scale?: string;
}
export interface Hauling { loads: TruckLoad[] | null; say: string[] | null; draws: number }
export interface Window { day: string; odds_open: number; opens_h?: number; opens_p10_h?: number; opens_p90_h?: number; closes_h?: number; closes_p10_h?: number; closes_p90_h?: number }
export interface Season {
  expected_usd: number; p10_usd: number; p90_usd: number; se_usd?: number; gap_to_foresight_pct?: number; plan_rule?: string;
  rules?: { rule: string; expected_usd: number; less_usd: number; se_usd: number }[] | null;
  one_more?: { of: string; usd: number; se_usd?: number }[] | null; margins_say?: string; cannot?: string[] | null;
}
export interface Assumed { what: string; value: string; from: string }
export interface DaySheet {
  as_of: string; farm: string; seed: number; members: number; weather: string; window?: Window;
  fields: Advice[]; orders?: Order[] | null; /** What became of orders given out earlier that day. */ earlier_orders?: { say: string } | null; hauling?: Hauling | null; season?: Season;
  assumed?: Assumed[] | null; not_used?: string[] | null; stale?: string[] | null; cautions?: string[] | null;
}

export interface Plan {
  id: string; made_at: string; /** On the clock that answers speak of. */ at: string; head: Head; program: string; seed: number; members: number; inputs: string; seconds: number; behind: number; sheet: DaySheet;
}
export interface ChangedField {
  field: string; advice_was: string; advice: string; wait_days_was: number; wait_days: number; usd_per_acre_was: number; usd_per_acre: number;
  moisture_was_pct: number | null; moisture_pct: number | null; because: string[] | null;
}
export interface Changed { since: string; fields: ChangedField[] | null; season_usd_was: number; season_usd: number; because: string[] | null }
export interface Job { state: 'idle' | 'running' | 'failed' | 'stopped'; percent?: number; say?: string; since?: string; error?: Trouble }

export interface Waiting { id: string; kind: string; why: string[]; words: string[]; like?: string; body: string }

export interface Snapshot {
  program: string; demo: boolean; data: string; at: string; now: string; head: Head; epoch: number; read_only: Trouble | null;
  farm: Farm | null; fields: Field[]; machines: Machine[]; outlets: Outlet[]; bins: Bin[]; contracts: Contract[];
  parties: { id: string; name: string; role: string }[];
  readings: Reading[]; stages: Stage[]; bids: Bid[]; premiums: Premium[]; outlook: OutlookDay[];
  loads: Loads; plan: Plan | null; changed: Changed | null; job: Job;
  weather: { record_until: string | null; outlook_at: string | null; words: string[] };
  bids_at: { oldest: string | null; newest: string | null };
  waiting: Waiting[]; findings: Trouble[];
}

export interface Outlook {
  plan?: string; field: string; crop: Crop; as_of: string; members: number; limit_pct: number;
  hours: { time: string; mean_pct: number; p10_pct: number; p25_pct: number; p50_pct: number; p75_pct: number; p90_pct: number; share_over?: Record<string, number>; odds_workable?: number }[];
  days: { day: string; odds_fit: number; opens?: string; closes?: string; opens_p10?: string; opens_p90?: string; closes_p10?: string; closes_p90?: string }[];
  readings?: Evidence[] | null; maturity?: string[] | null; weather?: string; outlook_entered?: string | null; observed_until?: string | null;
  stale?: string[] | null; assumed?: Assumed[] | null; losses?: { day: string; loss_pct: number | null; fit_pct: number }[] | null;
}

export interface Worth {
  plan: string;
  crops: { crop: Crop; moistures_pct: number[]; best?: (number | null)[] | null; ways: { to: string; name: string; contract?: string; posted_usd?: number | string | null; net_usd_per_bu: (number | null)[] }[] }[];
}

/** What a truckload nets at every offer that is open; a decimal that stands on paper is text. */
export interface Offer {
  number: number; id: string; kind: string; place: string; name: string; cash_usd_per_bu?: string; premium_usd_per_bu?: string; cash_usd_per_cwt?: string;
  until: string | null; ends: string | null; wettest_pct: string | null; room_bu: string | null; miles: number; freight_usd_per_load: string; heard: string | null; stale: boolean; expected: boolean;
}
export interface Prices {
  as_of: string; crop: Crop; field?: string; truck: string; load_lb: string; grade: Record<string, string>; offers: Offer[]; closed: string[] | null;
  best: { from_pct: string; to_pct: string; offer: number | null }[] | null;
  today: {
    moisture_pct: string; best: number | null;
    offers: { offer: number; net_usd: string | null; freight_usd: string | null; not_taken?: string; break_even_cash_usd: string | null; lead_pays_extra_miles: number | null }[];
  } | null;
  dry_sell_or_wait: { lot_bu: string; choices: { what: string; offer: number; moisture_pct: string; net_usd: string }[]; waiting_undone_by_loss_pct: number | null } | null;
  assumed: Assumed[] | null; cautions: string[] | null;
}
/** A check of the books that found something. */
export interface BooksCheck { rule: string; severity: 'error' | 'warning'; say: string; next?: string; where?: string }
export interface Books {
  farm: string; as_of: string; loads: number; example: boolean; head: Head; checks: BooksCheck[] | null; checks_more: number; cautions: string[] | null;
  contracts?: {
    id: string; outlet: string; party: string; crop: Crop; kind: string; until?: string | null; price_by?: string; promised_bu: string; filled_bu: string; left_bu: string;
    closed: boolean; bought_out?: boolean; open: string[] | null; price_usd_per_bu: string | null; value_usd: string | null; net_usd: string | null; buy_out_usd: string | null;
  }[] | null;
  promises?: { party: string; crop: Crop; promised_bu: string; delivered_bu: string; in_bins_bu: string; counted_on_bu: string; short_bu: string }[] | null;
  bins?: {
    bin: string; crop: Crop; base_pct: string | null; opening_bu: string; in_bu: string; out_bu: string; now_bu: string;
    life?: { not_known?: string; used_pct: number | null; load?: string; moisture_pct?: string; grain_f: number | null; days_left: number | null; over_300?: boolean };
  }[] | null;
  shares?: { party: string; place: string; crop: Crop; sold_bu: string; claim_bu: string; stored_bu: string; value_usd: string; checkoff_usd: string; charges_usd: string; net_usd: string; in_bin_bu: string }[] | null;
  yields?: { field: string; crop: Crop; loads: number; dry_bu: string; base_pct: string; acres: number; whole: boolean; bu_per_acre: string | null; without_moisture: number }[] | null;
  cheques?: { cheque: string; outlet: string; party: string; on: string; total_usd: string; lines: number }[] | null;
  audit?: {
    sheets: { outlet: string; ticket: string; verdict: string; ours_usd: string; difference_usd: string; explained_by: { rule: string; detail: string }[] | null; unexplained_usd: string; why?: string }[] | null;
    counts: Record<string, number> | null; roundings_usd: string; real_usd: string; unexplained_usd: string;
  } | null;
  assumed?: Assumed[] | null;
}
export interface TrailTicket {
  ticket: string; id: string; day: string; to: string; moisture_pct: string | null; net_lb: string; settle_lb: string;
  sales: { party: string; contract?: string; bu: string; cash_usd: string | null; net_usd: string }[] | null;
  settlement?: { lines: { lb: string; usd: string; say: string }[] | null }[] | null;
}
/** A figure of the books led back to its tickets. */
export interface Trail { figure: string; loads: number; more: number; settle_lb: string; settled_bu: string; net_usd: string; tickets: TrailTicket[] }

export interface Entry { seq: number; at: string; kind: string; id: string; of: string; review: boolean; by?: string; body?: string; say?: string }

export interface Answer { id: string; status: 'new' | 'same' | 'doubt' | 'refused'; record?: string; seq?: number; say?: string; findings?: Trouble[] | null; error?: Trouble | null }

/** NoServer says that nothing answered: the computer is off, or away. */
export class NoServer extends Error {}

/** Told is an answer over 399, with the server's own words. */
/** told is all that is said of a trouble: what, and what to do where the sentence does not say that itself. */
export const told = (t: Trouble | null | undefined) => (!t ? '' : t.next && !t.say.endsWith(t.next) ? `${t.say} ${t.next}` : t.say);

export class Told extends Error {
  constructor(readonly status: number, readonly trouble: Trouble, readonly findings: Trouble[]) { super(trouble.say); }
}

/** call asks the server. A body makes it a POST. */
export async function call<T>(path: string, body?: unknown, init: RequestInit = {}): Promise<T> {
  let answer: Response;
  try {
    const given: RequestInit = body === undefined ? {} : { method: 'POST', body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } };
    answer = await fetch(path, { cache: 'no-store', signal: AbortSignal.timeout(20_000), ...given, ...init });
  } catch {
    throw new NoServer('no answer');
  }
  const text = await answer.text();
  if (!answer.ok) {
    let said: { error?: Trouble; findings?: Trouble[] } = {};
    try { said = JSON.parse(text); } catch { /* a proxy's page, or nothing */ }
    throw new Told(answer.status, said.error ?? { rule: 'http', say: `The computer answered ${answer.status}.` }, said.findings ?? []);
  }
  return JSON.parse(text) as T;
}
