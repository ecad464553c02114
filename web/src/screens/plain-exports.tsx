import { addressOf } from '../api/client.ts';
import { useHome } from '../home.ts';
import { exportingWords as t } from '../words/exporting.ts';

/** Readings and hours as files for other programs, of the span that is chosen above. */
export function PlainExports(props: { from: string | null; to: string | null }) {
  const { slug } = useHome();
  const { from, to } = props;
  if (from === null || to === null || from >= to) return null;
  return (
    <section aria-labelledby="plain-exports">
      <h2 id="plain-exports">{t.title}</h2>
      <p>{t.lead}</p>
      <ul>
        {(['readings', 'hours'] as const).map((what) => (
          <li key={what}>
            {t.what[what]}:{' '}
            {(['csv', 'json', 'parquet'] as const).map((format, k) => (
              <span key={format}>
                {k > 0 && ' · '}
                <a
                  href={addressOf('exportRows', { dwelling: slug }, { what, format, from, to })}
                  download
                  aria-label={t.save(t.what[what], t.formats[format])}
                >
                  {t.formats[format]}
                </a>
              </span>
            ))}
          </li>
        ))}
      </ul>
      <p class="small">{t.hint}</p>
    </section>
  );
}
