import { describe, expect, it } from 'vitest';
import { screenAt } from '../../web/src/screen.ts';
import { placingWords } from '../../web/src/words/placing.ts';

describe('the placing guide', () => {
  it('has its own address under the sensors', () => {
    expect(screenAt('/sensors/placing')).toEqual({ kind: 'placing' });
    expect(screenAt('/sensors/placing/more')).toEqual({ kind: 'nowhere' });
    expect(screenAt('/sensors/elsewhere')).toEqual({ kind: 'nowhere' });
  });

  it('says of every picture what it shows and what to do', () => {
    const guides = Object.entries(placingWords.guides);
    expect(guides.length).toBeGreaterThanOrEqual(10);
    for (const [name, guide] of guides) {
      expect({ name, shown: guide.shows.length > 40, told: guide.points.length > 0 }).toEqual({
        name,
        shown: true,
        told: true,
      });
    }
  });
});
