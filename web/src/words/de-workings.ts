import type { Row } from './by-english.ts';

/** German of how figures of a comparison were worked out, by the English; symbols of formulas and names of standards stay. */
const whole: Readonly<Record<string, string>> = {
  'f = mean(surface - cold side) / mean(room - cold side) over settled night hours, both airs delayed by the fitted lags':
    'f = Mittel(Oberfläche - kalte Seite) / Mittel(Raum - kalte Seite) über ruhige Nachtstunden, beide Lufttemperaturen um die angepassten Verzögerungen verschoben',
  'f after - f before': 'f nachher - f vorher',
  'f after - f before, of the control surface': 'f nachher - f vorher, der Kontrollfläche',
  'chosen by the reader from published guidance, or typed in':
    'aus veröffentlichten Richtwerten gewählt oder eingegeben',
  'expected without the works - measured after, over the same hours':
    'ohne die Arbeiten erwartet - nachher gemessen, über dieselben Stunden',
  'number of local nights with at least one hour in which the surface is at or under the dew point of the room':
    'Anzahl der Nächte am Ort mit mindestens einer Stunde, in der die Oberfläche am oder unter dem Taupunkt der Raumluft liegt',
  'highest value of the mould index, which grows hour by hour while the surface is over the growth limit and declines while it is under; it starts from 0':
    'höchster Wert des Schimmelindex, der Stunde für Stunde steigt, solange die Oberfläche über der Wachstumsgrenze liegt, und fällt, solange sie darunter liegt; er beginnt bei 0',
  'mould index at the end of each day; it grows while the surface is over the growth limit and declines while it is under':
    'Schimmelindex am Ende jedes Tages; er steigt, solange die Oberfläche über der Wachstumsgrenze liegt, und fällt, solange sie darunter liegt',
  'sum over the hours / hours, of the temperature of the cold side':
    'Summe über die Stunden / Stunden, der Temperatur der kalten Seite',
  'sum over the hours / hours, of the temperature of the room':
    'Summe über die Stunden / Stunden, der Temperatur des Raums',
  'sum over the hours / hours, of the relative humidity of the room':
    'Summe über die Stunden / Stunden, der relativen Luftfeuchte des Raums',
  'mean vapour pressure of the room - mean vapour pressure outdoors, over the same hours':
    'mittlerer Dampfdruck im Raum - mittlerer Dampfdruck außen, über dieselben Stunden',
  'the lowest class whose upper limit, at this mean temperature outdoors, is not exceeded by the mean vapour excess':
    'die niedrigste Klasse, deren obere Grenze bei dieser mittleren Außentemperatur vom mittleren Dampfüberschuss nicht überschritten wird',
  '100 × hours with surface, room and cold side known / hours of the phase':
    '100 × Stunden, in denen Oberfläche, Raum und kalte Seite bekannt sind / Stunden des Abschnitts',
  'hours after with a room - cold difference that also occurred before / hours after':
    'Stunden nachher mit einem Unterschied Raum - kalte Seite, den es auch vorher gab / Stunden nachher',
  '(treated after - treated before) - (control after - control before)':
    '(behandelt nachher - behandelt vorher) - (Kontrolle nachher - Kontrolle vorher)',
  'mean, over all orders in which the three could be put right, of the share of risk hours that each takes away; with what is left they make up the whole':
    'Mittel, über alle Reihenfolgen, in denen sich die drei beheben ließen, des Anteils der Risikostunden, den jedes wegnimmt; mit dem Rest ergeben sie das Ganze',
  'laid down, not worked out': 'festgelegt, nicht berechnet',
  'highest mould index of the ceiling surface before the works: the old surface faced the room then':
    'höchster Schimmelindex der Deckenoberfläche vor den Arbeiten: Damals lag die alte Oberfläche am Raum',
  'highest value of the mould index, which grows hour by hour while the place’s own air is over the growth limit and declines while it is under; it starts from 0':
    'höchster Wert des Schimmelindex, der Stunde für Stunde steigt, solange die Luft des Ortes selbst über der Wachstumsgrenze liegt, und fällt, solange sie darunter liegt; er beginnt bei 0',
  'the last known hour + a day for each day that is still missing':
    'die letzte bekannte Stunde + ein Tag für jeden Tag, der noch fehlt',
  'sum of the daily means of loft vapour pressure less outdoor vapour pressure / days':
    'Summe der Tagesmittel von Dampfdruck im Dachboden minus Dampfdruck außen / Tage',
  'mean of the moisture content that softwood takes on in the air of the place, lagging it as 10 mm of wood do':
    'Mittel der Feuchte, die Nadelholz in der Luft des Ortes annimmt, verzögert wie bei 10 mm Holz',
  'sum of the daily means of the moisture content / days': 'Summe der Tagesmittel der Holzfeuchte / Tage',
  'number of days whose mean timber moisture is over the limit':
    'Anzahl der Tage, deren mittlere Holzfeuchte über der Grenze liegt',
  'standard uncertainty of a constant offset (k = 1): of the calibration, or the limit a data sheet states taken as a rectangle, limit / √3, with the errors of the reading added in squares':
    'Standardunsicherheit einer gleichbleibenden Abweichung (k = 1): die der Kalibrierung, oder die Grenze aus dem Datenblatt als Rechteckverteilung, Grenze / √3, mit den Fehlern der Ablesung quadratisch addiert',

  'mean surface - cold side': 'Mittel Oberfläche - kalte Seite',
  'mean room - cold side': 'Mittel Raum - kalte Seite',
  nights: 'Nächte',
  hours: 'Stunden',
  'lag of the cold side': 'Verzögerung der kalten Seite',
  'lag of the room': 'Verzögerung des Raums',
  'standard uncertainty by chance': 'Standardunsicherheit durch Zufall',
  'standard uncertainty by sensor offsets and method':
    'Standardunsicherheit durch Abweichungen der Sensoren und das Verfahren',
  'slope, which offsets do not move': 'Steigung, die Abweichungen nicht verschieben',
  'cold side': 'kalte Seite',
  'f after': 'f nachher',
  'f before': 'f vorher',
  'target f': 'Ziel für f',
  'limit of surface humidity': 'Grenze der Feuchte an der Oberfläche',
  'hours with surface, room and cold side known': 'Stunden, in denen Oberfläche, Raum und kalte Seite bekannt sind',
  'hours of the phase': 'Stunden des Abschnitts',
  'f of the untreated surface': 'f der unbehandelten Oberfläche',
  intercept: 'Achsenabschnitt',
  'mean bias error': 'mittlere Abweichung',
  'root mean square error': 'Wurzel der mittleren quadratischen Abweichung',
  '% of the drop room - surface': '% des Abfalls Raum - Oberfläche',
  draws: 'Ziehungen',
  expected: 'erwartet',
  measured: 'gemessen',
  'night begins': 'Nacht beginnt',
  'night ends': 'Nacht endet',
  'class of the material': 'Klasse des Materials',
  'standard uncertainty of the sensor’s offset': 'Standardunsicherheit der Abweichung des Sensors',
  'mean vapour pressure of the room': 'mittlerer Dampfdruck im Raum',
  'mean vapour pressure outdoors': 'mittlerer Dampfdruck außen',
  'mean vapour excess': 'mittlerer Dampfüberschuss',
  'mean temperature outdoors': 'mittlere Außentemperatur',
  'upper limit of class 1': 'obere Grenze der Klasse 1',
  'upper limit of class 2': 'obere Grenze der Klasse 2',
  'upper limit of class 3': 'obere Grenze der Klasse 3',
  'upper limit of class 4': 'obere Grenze der Klasse 4',
  'differences before, the middle 96 %, from': 'Unterschiede vorher, die mittleren 96 %, von',
  to: 'bis',
  'hours after within them': 'Stunden nachher innerhalb davon',
  'hours after': 'Stunden nachher',
  'change of the treated surface': 'Änderung der behandelten Oberfläche',
  'change of the control surface': 'Änderung der Kontrollfläche',
  'risk hours': 'Risikostunden',
  'fabric: surface at f': 'Bauteil: Oberfläche bei f',
  'moisture: vapour excess within humidity class': 'Feuchte: Dampfüberschuss innerhalb der Feuchteklasse',
  'heating: room at least': 'Heizung: Raum mindestens',
  'cold fabric': 'kaltes Bauteil',
  'moist air': 'feuchte Luft',
  'cool room': 'kühler Raum',
  'none of these': 'nichts davon',
  limit: 'Grenze',
  'figure taken from': 'Wert übernommen von',
  'hours with temperature and humidity': 'Stunden mit Temperatur und Luftfeuchte',
  'days with data': 'Tage mit Daten',
  'sum of the daily means': 'Summe der Tagesmittel',
  'a day': 'ein Tag',
  'temperature offset': 'Abweichung der Temperatur',
  'humidity offset': 'Abweichung der Luftfeuchte',
  'change of the temperature offset between the phases': 'Änderung der Temperaturabweichung zwischen den Abschnitten',
  'change of the humidity offset between the phases': 'Änderung der Feuchteabweichung zwischen den Abschnitten',
  'part shared with others corrected against the same reference':
    'Teil, der mit anderen gegen dieselbe Referenz berichtigten gemeinsam ist',

  'outdoor-air': 'Außenluft',
  'loft-air': 'Luft im Dachboden',
  'very-sensitive': 'sehr empfindlich',
  sensitive: 'empfindlich',
  'medium-resistant': 'mittel widerstandsfähig',
  resistant: 'widerstandsfähig',
  'mould index, highest, before': 'Schimmelindex, höchster, vorher',
  'UTC days with at least half of their hours': 'UTC-Tage mit mindestens der Hälfte ihrer Stunden',

  'The interval holds the middle 95 % of the draws: whole nights resampled in blocks, and for each draw offsets of the three sensors from their standard uncertainties.':
    'Das Intervall enthält die mittleren 95 % der Ziehungen: ganze Nächte, blockweise neu gezogen, und für jede Ziehung Abweichungen der drei Sensoren nach ihren Standardunsicherheiten.',
  'Worked out anew in every draw, so that what both figures have in common, such as the offset of one sensor, cancels; the interval holds the middle 95 %.':
    'In jeder Ziehung neu berechnet, sodass sich aufhebt, was beiden Werten gemeinsam ist, etwa die Abweichung eines Sensors; das Intervall enthält die mittleren 95 %.',
  'A figure that was laid down has none.': 'Ein festgelegter Wert hat keine.',
  'The count is exact for the readings as they are. The interval holds the middle 95 % of the counts when the offsets of the surface and the room sensor are drawn from their standard uncertainties.':
    'Die Zählung ist für die Messwerte, wie sie sind, genau. Das Intervall enthält die mittleren 95 % der Zählungen, wenn die Abweichungen der Sensoren an Oberfläche und im Raum nach ihren Standardunsicherheiten gezogen werden.',
  'Each draw has its own fit, its own sensor offsets and its own days of residuals; the interval holds the middle 95 % of them.':
    'Jede Ziehung hat ihre eigene Anpassung, ihre eigenen Abweichungen der Sensoren und ihre eigenen Tage von Resten; das Intervall enthält die mittleren 95 % davon.',
  'The interval holds the middle 95 % of the indices when the offsets of the surface and the room sensor are drawn from their standard uncertainties. How well the class fits your surface is not in it.':
    'Das Intervall enthält die mittleren 95 % der Indizes, wenn die Abweichungen der Sensoren an Oberfläche und im Raum nach ihren Standardunsicherheiten gezogen werden. Wie gut die Klasse zu Ihrer Oberfläche passt, ist nicht darin.',
  'No chance is in it, for every known hour counts; the offset of the sensor shifts it by up to twice its standard uncertainty in 95 of 100 cases.':
    'Zufall ist nicht darin, denn jede bekannte Stunde zählt; die Abweichung des Sensors verschiebt ihn in 95 von 100 Fällen um höchstens das Doppelte ihrer Standardunsicherheit.',
  'No chance is in it; offsets of the two humidity sensors shift it, about 23 Pa for each % at 20 °C in the room.':
    'Zufall ist nicht darin; Abweichungen der beiden Feuchtesensoren verschieben ihn, um etwa 23 Pa je % bei 20 °C im Raum.',
  'A class has no interval; near a limit the next class is as likely.':
    'Eine Klasse hat kein Intervall; nahe einer Grenze ist die nächste Klasse ebenso wahrscheinlich.',
  'A count of hours: exact.': 'Eine Zählung von Stunden: genau.',
  'A count of hours: exact for the readings as they are.':
    'Eine Zählung von Stunden: für die Messwerte, wie sie sind, genau.',
  'Each draw has its own f and its own sensor offsets; the interval holds the middle 95 %. Sun and draughts are not in it.':
    'Jede Ziehung hat ihr eigenes f und ihre eigenen Abweichungen der Sensoren; das Intervall enthält die mittleren 95 %. Sonne und Zugluft sind nicht darin.',
  'Its interval stands beside the figure it is taken from.': 'Sein Intervall steht bei dem Wert, von dem er stammt.',
  'None is given beside it: it is what the readings as they are lead to. One class of material up or down changes it more than the sensor does.':
    'Keine ist angegeben: Es ist, was sich aus den Messwerten ergibt, wie sie sind. Eine Materialklasse höher oder tiefer ändert ihn mehr als der Sensor.',
  'It holds if the weather stays as it is and the sensor goes on reporting.':
    'Es gilt, wenn das Wetter bleibt, wie es ist, und der Sensor sich weiter meldet.',
  'The interval holds the middle 95 % of the draws: whole days resampled in blocks, and sensor offsets where they do not cancel.':
    'Das Intervall enthält die mittleren 95 % der Ziehungen: ganze Tage, blockweise neu gezogen, und Abweichungen der Sensoren, wo sie sich nicht aufheben.',
  'None is given beside it: an estimate from the air alone, good to about 2 % of dry mass (from memory).':
    'Keine ist angegeben: eine Schätzung aus der Luft allein, auf etwa 2 % der Trockenmasse genau (aus dem Gedächtnis).',
  'A count: exact for the readings as they are.': 'Eine Zählung: für die Messwerte, wie sie sind, genau.',
  'It is an uncertainty itself; twice as much bounds 95 of 100 cases.':
    'Es ist selbst eine Unsicherheit; das Doppelte umfasst 95 von 100 Fällen.',
  'A rule applied to counted or measured figures; it has no interval of its own.':
    'Eine Regel, angewandt auf gezählte oder gemessene Werte; sie hat kein eigenes Intervall.',
  'A rule applied to counted figures. The day it names is reached if data go on coming as they do now.':
    'Eine Regel, angewandt auf gezählte Werte. Der genannte Tag wird erreicht, wenn weiter so viele Daten kommen wie jetzt.',

  'ISO 13788:2012, 3.1.2; blocks of days: Künsch (1989)': 'ISO 13788:2012, 3.1.2; Blöcke von Tagen: Künsch (1989)',
  'ISO 13788:2012, 3.1.2 for f': 'ISO 13788:2012, 3.1.2 für f',
  'BRE IP 1/06, dwellings': 'BRE IP 1/06, Wohnungen',
  'ISO 13788:2012, 5 for the limit (there a monthly mean; by the hour it is an indicator)':
    'ISO 13788:2012, 5 für die Grenze (dort ein Monatsmittel; je Stunde ist sie ein Anzeichen)',
  'ISO 13788:2012, 5 (surface condensation); a night counts once, which is common practice':
    'ISO 13788:2012, 5 (Oberflächenkondensation); eine Nacht zählt einmal, nach üblicher Praxis',
  'Hukka & Viitanen (1999); Viitanen & Ojanen (2007); classes: Ojanen et al. (2010)':
    'Hukka & Viitanen (1999); Viitanen & Ojanen (2007); Klassen: Ojanen et al. (2010)',
  'arithmetic mean; nothing is resampled, because every hour that is known counts':
    'arithmetisches Mittel; nichts wird neu gezogen, weil jede bekannte Stunde zählt',
  'vapour pressure of each hour from paired readings, ISO 13788:2012, Annex E':
    'Dampfdruck jeder Stunde aus zusammengehörigen Messwerten, ISO 13788:2012, Anhang E',
  'ISO 13788:2012, Annex A; from memory': 'ISO 13788:2012, Anhang A; aus dem Gedächtnis',
  'an hour counts where its record has enough readings; what is left out counts in neither number':
    'eine Stunde zählt, wo genug Messwerte vorliegen; was ausgelassen ist, zählt in keiner der beiden Zahlen',
  'common practice; the middle 96 % leaves out single odd hours':
    'übliche Praxis; die mittleren 96 % lassen einzelne ungewöhnliche Stunden aus',
  'difference in differences; the same nights are resampled for both surfaces':
    'Differenz der Differenzen; für beide Oberflächen werden dieselben Nächte neu gezogen',
  'Shapley (1953); humidity classes: ISO 13788:2012, Annex A':
    'Shapley (1953); Feuchteklassen: ISO 13788:2012, Anhang A',
  'rules of this program': 'Regeln dieses Programms',
  'rules of this program; the limits are listed with every result and can be changed':
    'Regeln dieses Programms; die Grenzen stehen bei jedem Ergebnis und lassen sich ändern',
  'USDA Wood Handbook (2010), equation 4-5; diffusivity from memory':
    'USDA Wood Handbook (2010), Gleichung 4-5; Diffusivität aus dem Gedächtnis',
  'resistance of timber as the sensor reports it': 'Holzfeuchte aus dem Widerstand, wie der Sensor sie meldet',
  'timber at a lasting 20 % and more can decay; common practice, from memory':
    'Holz mit dauerhaft 20 % und mehr kann faulen; übliche Praxis, aus dem Gedächtnis',
  'assumed: not calibrated, typical data sheet of 0.5 K and 3 % read as 95 % bounds':
    'angenommen: nicht kalibriert, übliches Datenblatt mit 0,5 K und 3 % als 95-%-Grenzen',
};

/** Where a limit can be chosen, and what is set before or after another text. */
const put: readonly Row[] = [
  [
    'surface humidity at or over {0} % with the surface above 0 °C',
    'Oberflächenfeuchte von {0} % oder mehr bei einer Oberfläche über 0 °C',
  ],
  [
    'number of hours with surface humidity at or over {0} % with the surface above 0 °C',
    'Anzahl der Stunden mit {0} % oder mehr Feuchte an der Oberfläche, bei einer Oberfläche über 0 °C',
  ],
  [
    'IPMVP adjusted baseline; ASHRAE Guideline 14-2014 for the limits of fit; {0}',
    'IPMVP, angepasster Vergleichsstand; ASHRAE Guideline 14-2014 für die Grenzen der Anpassung; {0}',
  ],
  [
    "{0}; with the surface temperature the untreated surface would have had: cold + intercept + f (room - cold) + residual, room and cold delayed, fitted before, driven by the after phase's own air",
    '{0}; mit der Temperatur, die die unbehandelte Oberfläche gehabt hätte: kalte Seite + Achsenabschnitt + f (Raum - kalte Seite) + Rest, Raum und kalte Seite verzögert, angepasst an die Zeit vorher, angetrieben von der Luft der Zeit nachher',
  ],
  [
    '{0}, added up from the 1st of October, or from the day the phase begins, to the end of each day',
    '{0}, addiert vom 1. Oktober oder vom ersten Tag des Abschnitts bis zum Ende jedes Tages',
  ],
];

export const deWorkings: readonly Row[] = [...Object.entries(whole), ...put];
