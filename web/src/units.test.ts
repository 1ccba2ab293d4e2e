import { describe, expect, test } from 'vitest';
import { decimal, printed, printedUsd, signedUsd, Units } from './units';

describe('what a person reads', () => {
  test('printed figures keep every digit', () => {
    expect(printed('78460')).toBe('78,460');
    expect(printedUsd('-313.87')).toBe('−$313.87');
    expect(printedUsd('9.8725')).toBe('$9.8725');
    expect(printed(null)).toBe('–');
  });
  test('a rounded nothing has no sign', () => expect(signedUsd(-0.3)).toBe('$0'));

  // An acre is 0.40468564224 ha and a pound 0.45359237 kg by definition; a bushel of soybean is 60 lb.
  test('metric', () => {
    const m = new Units('metric');
    expect(m.area(160)).toBe('65 ha');
    expect(m.grain(1000, 'soybean')).toBe('27.2 t');
    expect(m.price(10, 'soybean')).toBe('$367.44');
    expect(m.weight(80_000)).toBe('36,287 kg');
    expect(m.temperature(77)).toBe('25 °C');
  });
  test('a crop with no trade bushel stays as it is', () => expect(new Units('metric').grain(100, 'sunflower')).toBe('100 bu'));
});

test.each([['14.2', 14.2], ['14,2', 14.2], ['78,460', 78460], ['-0.55', -0.55], ['−0.55', -0.55], [' 13 ', 13], ['14..2', null], ['1e5', null], ['NaN', null], ['', null], ['78,46,0', null]])(
  'a decimal as typed: %s', (text, want) => expect(decimal(text)).toBe(want));
