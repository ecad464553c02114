import { deMonths } from './de-terms.ts';
import type { Said, Write } from './said.ts';

/** A month in German; one that somebody named otherwise keeps that name. */
const month = (name: string): string => deMonths[name] ?? name;

/** German of what a check of a lining has to say, from codes and figures. */
export const deLiningNotices =
  (w: Write): Said['lining'] =>
  ({ code, data, message }): string => {
    const num = (name: string): number => Number(data[name]);
    const pct = (name: string): string => w.quantity(num(name), '%', 0);
    const grams = (name: string): string => w.quantity(1000 * num(name), 'g/m²', 0);
    const names = (name: string): readonly string[] => (Array.isArray(data[name]) ? (data[name] as string[]) : []);
    const colder = (): string => w.quantity(num('temperature_before_c') - num('temperature_after_c'), 'K', 1);
    const leak = (): string => w.quantity(num('air_leak_m3_per_h_m2'), 'm³/(h m²)', 1);

    const worse = (one: string): string => {
      switch (one) {
        case 'design-humidity':
          return `${pct('design_humidity_pct')} Feuchte im Auslegungsfall, mehr als die ${pct('design_growth_limit_pct')}, ab denen dort Schimmel wachsen kann`;
        case 'design-water':
          return 'im Auslegungsfall schlägt sich Wasser nieder';
        case 'month-humidity':
          return `${pct('month_humidity_pct')} Feuchte im ${month(String(data.month_name))}, ${pct('month_over_limit_pct')} über der Wachstumsgrenze${typeof data.month_over_limit_before_pct === 'number' ? ` (vorher: ${pct('month_over_limit_before_pct')} darüber, im ${month(String(data.month_name_before))})` : ''}`;
        case 'month-water':
          return `Wasser schlägt sich nieder: ${names('wet_months').map(month).join(', ')}`;
        case 'mould-index':
          return `Schimmelindex im Protokoll bis ${w.number(num('mould_index'), 1)} statt ${w.number(num('mould_index_before'), 1)}`;
        case 'water-held':
          return `bis zu ${grams('most_water_kg_m2')} Wasser hinter der Verkleidung im Protokoll`;
        case 'design-damper':
          return `${pct('humidity_after_pct')} im Auslegungsfall statt ${pct('humidity_before_pct')}`;
        case 'risk-hours':
          return `${w.number(num('risk_hours'))} Risikostunden im Protokoll statt ${w.number(num('risk_hours_before'))}`;
        default:
          return one;
      }
    };

    switch (code) {
      case 'hidden-layer-worse':
        return `Diese Verkleidung macht die verborgene Schicht schlechter: Dahinter ist die Fläche (${data.surface}) im Auslegungsfall ${colder()} kälter, und dort: ${names('worse_in').map(worse).join('; ')}.`;
      case 'hidden-layer-wet':
        return `Hinter der Verkleidung schlägt sich Wasser nieder (${data.surface}), wie schon vor der Verkleidung; nur sieht es dort niemand und wischt es niemand ab.`;
      case 'hidden-layer-damper':
        return `Hinter der Verkleidung ist es feuchter (${data.surface}): ${names('damper_in').map(worse).join('; ')}. Nach diesen Werten folgt daraus weder Schimmel noch stehendes Wasser. Messen Sie dort, um sicher zu sein.`;
      case 'hidden-layer-not-worse':
        return `Hinter der Verkleidung ist die Fläche (${data.surface}) ${colder()} kälter und im Auslegungsfall nicht schlechter gestellt: ${pct('humidity_after_pct')} statt ${pct('humidity_before_pct')}. Messen Sie dort, um sicher zu sein.`;
      case 'air-tightness-decides':
        return `Ganz ohne undichte Stellen wäre die verborgene Schicht nicht schlechter als vorher; mit ${leak()} Raumluft hinter der Verkleidung ist sie es. Wie gut Ränder und Fugen abgedichtet sind, entscheidet.`;
      case 'vapour-control-decides':
        return data.described === 'with'
          ? 'Nur die Dampfbremse hält die verborgene Schicht so gut wie vorher. Sie muss lückenlos sein: Fugen verklebt, Ränder abgedichtet, keine Löcher.'
          : 'Mit einer Dampfbremse auf der Raumseite wäre die verborgene Schicht nicht schlechter als vorher. Dieser Aufbau hat keine.';
      case 'condensation-accumulates':
        return `Nach dem Monatsverfahren sind nach einem Jahr noch ${grams('remaining_after_kg_m2')} Wasser in der verkleideten Decke (bisher: ${grams('remaining_before_kg_m2')}).`;
      case 'surface-still-at-risk':
        return `Im Auslegungsfall ${
          num('surface_humidity_pct') >= 100
            ? 'schlägt sich auf der verkleideten Oberfläche selbst noch Wasser nieder'
            : `erreicht die verkleidete Oberfläche selbst noch ${pct('surface_humidity_pct')} Feuchte`
        }${names('through').length > 0 ? ` (${names('through').join(' und ')})` : ''}, wo sich die Luft wenig bewegt, etwa in Ecken und hinter Möbeln (Rsi ${w.number(0.25, 2)}). Es braucht mehr Dämmung oder einen trockeneren Raum.`;
      case 'thin-board-to-the-room':
        return `Die Platte zum Raum hin, ${data.layer}, ist ${w.quantity(num('thickness_mm'), 'mm', 1)} dick. Über Schaum genügt das vielleicht nicht dem Brandschutz, den das örtliche Baurecht von Decken verlangt; fragen Sie, bevor Sie bauen.`;
      case 'no-monthly-climate':
        return `Keine Monatstabelle der Tauwassermenge: Sie braucht zwölf Monate, eingegeben oder aufgezeichnet.${
          data.has_log === true
            ? ` Die Aufzeichnung deckt davon zu wenig ab: ${names('missing').map(month).join(', ')}.`
            : ''
        }`;
      case 'no-log':
        return 'Es fehlen Stunden mit Raumluft und Außenluft, daher gibt es keine kälteste Nacht und keinen Schimmelindex hinter der Verkleidung.';
      case 'limits-too-far-apart':
        return `Der obere Grenzwert des Wärmedurchlasswiderstands ist ${w.number(num('ratio'), 2)}-mal so groß wie der untere; über ${w.number(num('highest_ratio'), 1)} gilt das vereinfachte Verfahren nicht. Lassen Sie die Wärmebrücken zwei- oder dreidimensional berechnen (ISO 10211).`;
      case 'beyond-the-void-not-counted':
        return `Der Hohlraum ist stark belüftet, daher zählen er und was dahinter liegt nicht mit: ${names('not_counted').join(', ')}.`;
      default:
        return message;
    }
  };
