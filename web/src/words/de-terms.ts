/** German of names, formulas and sources that the server gives in English, by their English. */
export const deTerms: Readonly<Record<string, string>> = {
  'temperature factor f': 'Temperaturfaktor f',
  'change of f': 'Änderung von f',
  'mould index, highest': 'Schimmelindex, höchster',
  'mould index of outdoor air, highest': 'Schimmelindex der Außenluft, höchster',
  'vapour excess over outdoors': 'Dampfüberschuss gegen außen',
  'timber moisture estimated from the air, mean': 'Holzfeuchte, aus der Luft geschätzt, Mittel',
  'timber moisture, mean': 'Holzfeuchte, Mittel',
  'days over the limit': 'Tage über der Grenze',
  'common practice': 'übliche Praxis',
  'assumed: typical data sheet': 'angenommen: übliches Datenblatt',
  'surface humidity at or over 80 % with the surface above 0 °C':
    'Oberflächenfeuchte von 80 % oder mehr bei einer Oberfläche über 0 °C',
};
