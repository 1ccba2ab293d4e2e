import { expect, test } from 'vitest';
import { checkDay, checkNumber, checkWeights, ranges } from './checks';

test('a moisture of 130 is refused and 13.0 offered', () => {
  expect(checkNumber('Moisture', '130', ranges.moisture)).toBe('Moisture 130 % is not possible (0 to 60 % wet basis). Did you mean 13.0?');
});
test('a test weight of 5.6 is refused and 56.0 offered', () => expect(checkNumber('Test weight', '5.6', ranges.test_weight)).toContain('Did you mean 56.0?'));
test('a weight is not negative', () => expect(checkNumber('Gross', '-78420', ranges.weight)).toContain('cannot be negative'));
test('what is no number is named with what was typed', () => expect(checkNumber('Gross', 'NaN', ranges.weight)).toContain('“NaN”'));
test('a negative basis is normal', () => expect(checkNumber('Basis', '-0.85', ranges.basis)).toBeUndefined());
test('a comma is a decimal mark', () => expect(checkNumber('Moisture', '14,2', ranges.moisture)).toBeUndefined());
test('nothing typed is not wrong in itself', () => expect(checkNumber('Moisture', '', ranges.moisture)).toBeUndefined());
test('an empty truck heavier than the full one offers the swap', () => {
  expect(checkWeights('27480', '61200', 'lb')).toEqual({ tare: 'Empty weight 61,200 lb is more than full weight 27,480 lb. Swapped?', swap: true });
});
test('no net weight is said', () => expect(checkWeights('61200', '61200', 'lb').tare).toContain('Net weight is 0 lb'));
test('a day to come is refused', () => {
  expect(checkDay('When', '2062-10-11T10:00', '2031-10-11')).toContain('lies in the future');
  expect(checkDay('When', '2031-10-11', '2031-10-11')).toBeUndefined();
});
