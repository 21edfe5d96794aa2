// SPDX-License-Identifier: MIT
import type {ResultLine, Run} from '../snapshot';
import {limitOf, quantity, said, testName, withSigns, type Words} from '../words';

const marks: Record<string, string> = {done: '✓', now: '▶', ahead: '·', failed: '✕', invalid: '?', stopped: '■', stands: '='};

/** All steps of the unit: what is done, what runs, what comes, and where leads must be changed. */
export function Course({run, words}: {run: Run; words: Words}) {
  return (
    <aside class="course" aria-label={words.plan}>
      <h2>{words.plan}</h2>
      <ol>
        {run.steps.map((step, index) => (
          <li key={index} class={'step ' + step.state} aria-current={step.state === 'now' ? 'step' : undefined} title={step.reason}>
            <span class="step-mark" aria-hidden="true">{marks[step.state] ?? '·'}</span>
            <span class="step-name">{testName(words, step.test)}</span>
            <span class="step-leads">{step.state === 'stands' ? words.stands : step.new_leads ? words.newLeads : ''}</span>
          </li>
        ))}
      </ol>
      {run.phase !== 'ended' && run.results.length > 0 && <ResultTable results={run.results.filter((line) => line.verdict !== '-').slice(-6)} words={words} />}
    </aside>
  );
}

export function ResultTable({results, words}: {results: ResultLine[]; words: Words}) {
  if (results.length === 0) return <p>{words.noResults}</p>;
  return (
    <div class="table-frame" tabIndex={0} role="region" aria-label={words.results}>
      <table>
        <caption>{words.results}</caption>
        <thead><tr><th scope="col">{words.test}</th><th scope="col">{words.what}</th><th scope="col" class="number">{words.value}</th><th scope="col" class="number">{words.limit}</th><th scope="col" class="number">{words.margin}</th><th scope="col">{words.verdict}</th></tr></thead>
        <tbody>
          {results.map((line, index) => (
            <tr key={index} class={line.verdict === 'fail' || line.verdict === 'conditional fail' ? 'bad' : ''}>
              <th scope="row">{testName(words, line.test)}</th><td>{quantity(words, line.what)}</td><td class="number">{withSigns(line.value)}</td><td class="number">{limitOf(words, line.limit)}</td><td class="number">{withSigns(line.margin)}</td><td>{said(words, line.verdict)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
