import type { Finding } from '../../../server/api/contract/comparison.ts';
import { deAdvice } from '../../../server/words/de-advice.ts';
import { deCautions } from '../../../server/words/de-cautions.ts';
import { deNoticeBody } from '../../../server/words/de-notice-body.ts';
import { deSensorFindings } from '../../../server/words/de-sensor-findings.ts';
import { byEnglish } from './by-english.ts';
import { deFindingRules } from './de-finding-rules.ts';
import { deFindings } from './de-findings.ts';
import { deLiningNotices } from './de-lining-notices.ts';
import { deSentences } from './de-sentences.ts';
import { deTerms } from './de-terms.ts';
import { deVerdict } from './de-verdict.ts';
import { deWorkings } from './de-workings.ts';
import type { Said, Write } from './said.ts';

/** German for what the server says, from codes and figures. */
export const deSaid = (w: Write): Said => {
  const known = byEnglish([...deTerms, ...deWorkings, ...deFindingRules, ...deSentences], w.number);
  const term = (english: string): string => known(english) ?? english;
  const findings = deFindings(w);
  const finding = (one: Finding): string => findings[one.code]?.(one)[0] ?? one.message;
  const mend = (one: Finding): string | null => (one.mend === null ? null : (findings[one.code]?.(one)[1] ?? one.mend));
  const advice = deAdvice(w);
  return {
    finding,
    mend,
    ...deVerdict(w, finding, mend, term),
    sensor: deSensorFindings(w),
    advice,
    lining: deLiningNotices(w),
    notice: deNoticeBody(w),
    caution: ({ code, message }) => deCautions[code] ?? message,
    forecastReason: ({ code, data, message }) => {
      const { hours, nights, nightsWanted } = data;
      const silent = (what: string): string =>
        `${what} hat sich seit ${hours} Stunden nicht gemeldet: Sehen Sie nach Batterie oder Funk.`;
      switch (code) {
        case 'room-missing':
          return 'Es gibt keine Raumluft, um diese Oberfläche zu beurteilen: Legen Sie den Raum an und ordnen Sie ihm einen Sensor zu.';
        case 'humidity-missing':
          return `Die Luftfeuchte des Raums wurde seit ${hours} Stunden nicht gemeldet: Ohne sie ist der Taupunkt nicht bekannt.`;
        case 'cold-side-missing':
          return 'Auf der kalten Seite wird nichts gemessen: Setzen Sie einen Sensor ins Freie, in den Schatten, oder wenigstens in den Dachboden.';
        case 'surface-silent':
          return silent('Der Sensor der Oberfläche');
        case 'room-silent':
          return silent('Der Sensor des Raums');
        case 'cold-side-silent':
          return silent('Der Sensor auf der kalten Seite');
        case 'few-nights':
          return `Seit die Decke ist, wie sie ist, sind erst ${nights} Nächte bekannt; es braucht ${nightsWanted}, um zu wissen, wie falsch eine Vorhersage sein kann.`;
        case 'no-response':
          return `Wie die Oberfläche der Luft auf beiden Seiten folgt, lässt sich noch nicht sagen: Es braucht etwa ${nightsWanted} Nächte mit allen drei Sensoren.`;
        default:
          return message;
      }
    },
    term,
  };
};
