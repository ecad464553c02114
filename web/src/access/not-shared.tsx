import { accessWords } from '../words/access.ts';

/** What a landlord finds where a screen is the household's alone. */
export function NotShared() {
  const t = accessWords.notShared;
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.text}</p>
      <p>
        <a href="/portfolio">{t.back}</a>
      </p>
    </>
  );
}
