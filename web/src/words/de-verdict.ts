import type { Assessment, Finding, MovedTrouble } from '../../../server/api/contract/comparison.ts';
import type { Said, Write } from './said.ts';

/** German of the verdict and what belongs to it, by kinds and figures. */
export function deVerdict(
  w: Write,
  finding: (one: Finding) => string,
  mend: (one: Finding) => string | null,
  term: (english: string) => string,
): Pick<Said, 'verdict' | 'reason' | 'moved' | 'control' | 'causes'> {
  const factors = ({ before, after }: Assessment): string =>
    before?.f && after?.f
      ? `f ${w.estimate(before.f, '', 2)} vorher, ${w.estimate(after.f, '', 2)} nachher`
      : 'f nicht bekannt';

  function risk({ riskHours }: Assessment): string {
    const { expectedAfterWithoutWorks: expected, after } = riskHours;
    if (!expected || !after) return 'Was ohne die Arbeiten gewesen wäre, lässt sich daraus nicht sagen.';
    if (expected.high < 1 && after.high < 1)
      return 'Weder die behandelte noch die unbehandelte Oberfläche hätte bei diesem Wetter und dieser Lebensweise eine Risikostunde gehabt.';
    const give = w.number((expected.high - expected.low) / 2);
    return `Bei gleichem Wetter und gleicher Lebensweise hätte die unbehandelte Oberfläche ${w.number(expected.value)} ± ${give} Risikostunden gehabt; es waren ${w.number(after.value)}.`;
  }

  function noChange(a: Assessment): string {
    if (a.control.kind === 'disagrees') return control(a.control);
    const { before, after, target } = a;
    if (before?.f && after?.f && before.f.low >= target.f && after.f.low >= target.f)
      return `Sie erreicht den Zielwert von ${w.number(target.f, 2)} in beiden Phasen.`;
    const { before: first, after: second } = a.riskHours;
    if (!first || !second)
      return 'Mehr und kältere Nächte oder kalibrierte Sensoren würden kleinere Veränderungen zeigen.';
    return `Statt ${w.number(first.value)} waren es ${w.number(second.value)} Risikostunden; das können Wetter und Lebensweise allein bewirken.`;
  }

  const worseOf = (a: Assessment): readonly MovedTrouble[] => a.movedTrouble.filter(({ kind }) => kind === 'worse');

  const surface = 'Die behandelte Oberfläche';

  function verdict(a: Assessment): string {
    const worse = worseOf(a);
    const { surfaceKind } = a.verdict;
    const target = w.number(a.target.f, 2);
    if (surfaceKind === 'not-enough-evidence') {
      const first = a.sufficiency.findings.find(({ severity }) => severity === 'blocks');
      const because = first === undefined ? 'Es ließ sich kein Temperaturfaktor ermitteln.' : finding(first);
      const next =
        (first === undefined ? null : mend(first)) ??
        'Zeichnen Sie Oberfläche, Raum und Außenluft in beiden Phasen durch kalte Nächte auf.';
      return [...worse.map(moved), 'Noch nicht genug Belege.', because, next].join(' ');
    }
    if (worse.length > 0) {
      const own = {
        'target-met': `erreicht den Zielwert von ${target}`,
        'better-short-of-target': 'ist besser, erreicht den Zielwert aber nicht nachweislich',
        'no-change-shown': 'zeigt keine Veränderung',
        worse: 'ist ebenfalls schlechter geworden',
      }[surfaceKind];
      return `${moved(worse[0]!)} ${surface} selbst ${own}: ${factors(a)}.`;
    }
    switch (surfaceKind) {
      case 'target-met':
        return `${surface} erreicht den Zielwert von ${target}: ${factors(a)}. ${risk(a)}`;
      case 'better-short-of-target':
        return `${surface} ist besser, erreicht den Zielwert von ${target} aber nicht nachweislich: ${factors(a)}. ${risk(a)}`;
      case 'no-change-shown':
        return `${surface} zeigt keine Veränderung, die sich von Zufall und Sensorfehlern unterscheiden ließe: ${factors(a)}. ${noChange(a)}`;
      case 'worse':
        return `${surface} ist schlechter geworden: ${factors(a)}. ${risk(a)}`;
    }
  }

  function reason(a: Assessment, index: number): string {
    const about = a.verdict.reasonsAbout[index]!;
    const english = a.verdict.reasons[index]!;
    switch (about.kind) {
      case 'change':
        return a.change === null ? english : `f änderte sich um ${w.estimate(a.change, '', 2)}.`;
      case 'target': {
        if (!a.after?.f) return english;
        const { low, high } = a.after.f;
        const where = low >= a.target.f ? 'ganz über dem' : high < a.target.f ? 'ganz unter dem' : 'beiderseits des';
        return `Der Bereich von f nachher, ${w.number(low, 2)} bis ${w.number(high, 2)}, liegt ${where} Zielwert${where === 'beiderseits des' ? 's' : ''} ${w.number(a.target.f, 2)} (${term(a.target.source)}).`;
      }
      case 'met-before':
        return a.before?.f
          ? `f erreichte den Zielwert schon vor den Arbeiten: ${w.estimate(a.before.f, '', 2)}.`
          : english;
      case 'avoided':
        return a.riskHours.avoided === null
          ? english
          : `Vermiedene Risikostunden gegenüber der unbehandelten Oberfläche bei gleichem Wetter und gleicher Lebensweise: ${w.estimate(a.riskHours.avoided, '', 0)}.`;
      case 'control':
        return a.control.kind === 'agrees' || a.control.kind === 'disagrees' ? control(a.control) : english;
      case 'moved':
        return moved(a.movedTrouble[about.index]!);
      case 'finding':
        return finding(a.sufficiency.findings[about.index]!);
    }
  }

  function moved(one: MovedTrouble): string {
    const { place, code, kind, data, figures } = one;
    const main = figures[0];
    const before = main?.before ?? null;
    const after = main?.after ?? null;
    const limit = main?.limit ?? 0;
    const both = (unit: string, digits: number): string =>
      [
        after === null ? 'nicht bekannt' : w.estimate(after, unit, digits),
        before === null ? null : `vorher ${w.estimate(before, unit, digits)}`,
      ]
        .filter((part) => part !== null)
        .join(', ');
    const index = after === null ? 'nicht bekannt' : w.number(after.value, 1);
    const excess = `Überschuss gegen außen ${both('Pa', 0)}`;
    const timber = `Holzfeuchte ${both('%', 1)}`;
    switch (code) {
      case 'surface-few':
        return `${place}: nicht genug Nächte in beiden Phasen für einen Vergleich.`;
      case 'surface-alone': {
        if (after === null) return one.statement;
        const where =
          after.low >= limit ? 'über dem' : after.high < limit ? 'unter dem' : 'nicht eindeutig über oder unter dem';
        return `${place}: f ${w.estimate(after, '', 2)} nach den Arbeiten, ${where} Zielwert von ${w.number(limit, 2)}; vorher wurde dort zu wenig aufgezeichnet, um zu vergleichen.`;
      }
      case 'surface-compared': {
        if (before === null || after === null) return one.statement;
        const said = {
          'target-met': 'erreicht den Zielwert',
          'better-short-of-target': 'besser, erreicht den Zielwert aber nicht nachweislich',
          'no-change-shown': 'keine Veränderung nachweisbar',
          worse: 'schlechter geworden',
          'not-enough-evidence': 'noch nicht zu beurteilen',
          'no-worse': 'nicht schlechter',
        }[kind];
        return `${place}: ${said}; f ${w.estimate(before, '', 2)} vorher, ${w.estimate(after, '', 2)} nachher.`;
      }
      case 'hidden-few':
        return `${place}: weniger als ${data.fewestDays} Tage Temperatur und Luftfeuchte nach den Arbeiten.`;
      case 'hidden-grows':
        return `${place}: Dort kann Schimmel wachsen, Index ${index} bei einer Grenze von ${w.number(limit, 1)}.`;
      case 'hidden-waits':
        return `${place}: Schimmelindex bisher ${index}, Grenze ${w.number(limit, 1)}. Zum Beurteilen braucht es ${data.coldDaysWanted} kalte Tage, bisher waren es ${data.coldDays}.`;
      case 'hidden-over':
        return `${place}: Schimmelindex ${index}, über der Grenze von ${w.number(limit, 1)}, aber nicht höher als an der alten Oberfläche.`;
      case 'hidden-fine':
        return `${place}: nicht schlechter, Schimmelindex ${index}, Grenze ${w.number(limit, 1)}.`;
      case 'loft-few':
        return `${place}: weniger als ${data.fewestDays} Tage Luftfeuchte im Dachboden und außen ${data.phase === 'before' ? 'vor' : 'nach'} den Arbeiten.`;
      case 'loft-wetter':
        return `${place}: feuchter geworden; ${excess}.`;
      case 'loft-drier':
        return `${place}: trockener geworden; ${excess}.`;
      case 'loft-as-before':
        return `${place}: wie vorher; ${excess}.`;
      case 'timber-few':
        return `${place}: weniger als ${data.fewestDays} Tage Holzfeuchte nach den Arbeiten.`;
      case 'timber-wetter':
        return `${place}: feuchter geworden; ${timber}; ${data.daysOver} ${data.daysOver === 1 ? 'Tag' : 'Tage'} über ${w.quantity(limit, '%', 0)}.`;
      case 'timber-alone':
        return `${place}: ${timber}; von vor den Arbeiten gibt es nichts zum Vergleichen.`;
      case 'timber-as-before':
        return `${place}: wie vorher; ${timber}.`;
    }
  }

  const signed = (value: number): string => `${value < 0 ? '' : '+'}${w.number(value, 2)}`;

  const control: Said['control'] = ({ kind, place, still, controlChange, differenceInDifferences }) => {
    const own = still ? 'änderte sich nicht' : `änderte sich um ${signed(controlChange.value)}`;
    const against = signed(differenceInDifferences.value);
    return kind === 'agrees'
      ? `${place}, nicht behandelt, ${own}; im Vergleich dazu änderte sich die behandelte Oberfläche um ${against}.`
      : `${place}, nicht behandelt, ${own}; im Vergleich dazu änderte sich die behandelte Oberfläche nur um ${against}, so dass etwas anderes als die Arbeiten im Spiel sein kann.`;
  };

  const causes: Said['causes'] = ({ leader, fabric, moisture, heating, remaining, humidityClassLimit, heatedToC }) => {
    const percent = ({ value }: { readonly value: number }): string => w.quantity(100 * value, '%', 0);
    const names = {
      fabric: 'die kalten Bauteile',
      moisture: 'feuchte Luft',
      heating: 'ein kühler Raum',
    };
    const first =
      leader === null
        ? 'Die Aufzeichnungen zeigen keine einzelne Ursache der Risikostunden.'
        : `Die größte Ursache der Risikostunden nach den Aufzeichnungen: ${names[leader]}.`;
    return `${first} Anteile: Bauteile ${percent(fabric)}, Dampfüberschuss über Klasse ${humidityClassLimit} ${percent(moisture)}, Raum unter ${w.quantity(heatedToC, '°C', 0)} ${percent(heating)}, nichts davon ${percent(remaining)}; ein Hinweis, keine Schuldzuweisung.`;
  };

  return { verdict, reason, moved, control, causes };
}
