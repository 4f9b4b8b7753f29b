// SPDX-License-Identifier: Apache-2.0
// The networks of hydraulics_bench solved by an EPANET engine (npm epanet-js), compared and timed.
//
// usage: node network_peer.mjs OURS.json OURS   with OURS_nodes.csv and OURS_pipes.csv beside it
// Hazen-Williams C 150, emitters q = k h^0.5, ACCURACY 1e-8. Both times are for the solution of a
// network that has been read and analysed: theirs initH and runH, ours NetworkSolver::solve; the
// second ratio adds the analysis, theirs openH, ours the constructor. Best of 20, theirs and ours; processor time of
// the whole process, so that other work on the machine does not count. Exit 1 if a discharge
// differs by more than 1e-4 of itself.
import { readFileSync } from 'node:fs';
import { NodeProperty, Project, Workspace } from 'epanet-js';

const [summary, prefix] = process.argv.slice(2);
const ours = JSON.parse(readFileSync(summary, 'utf8'));
const rows = (name) =>
  readFileSync(name, 'utf8').trim().split('\n').slice(1).map((line) => line.split(',').map(Number));
const emitters = rows(`${prefix}_nodes.csv`);
const pipes = rows(`${prefix}_pipes.csv`);

// 1 m of water is 9.80665 kPa; the rated pressure is 100 kPa, flows are in m3/h.
const coefficient = ours.rated_lph / 1000 / Math.sqrt(100 / 9.80665);
const nodes = 1 + Math.max(...pipes.flatMap(([from, to]) => [from, to]));
const junctions = Array.from({ length: nodes - 1 }, (_, i) => `${i + 1} 0 0`);
const text = [
  '[JUNCTIONS]', ...junctions,
  '[RESERVOIRS]', `0 ${ours.head_m}`,
  '[PIPES]',
  ...pipes.map(([from, to, length, diameter], i) => `p${i} ${from} ${to} ${length} ${diameter} 150 0 Open`),
  '[EMITTERS]', ...emitters.map(([node]) => `${node} ${coefficient}`),
  '[OPTIONS]', 'UNITS CMH', 'HEADLOSS H-W', 'EMITTER EXPONENT 0.5', 'ACCURACY 1e-8', 'TRIALS 500',
  '[REPORT]', 'STATUS NO', 'MESSAGES NO',
  '[END]', '',
].join('\n');

const workspace = new Workspace();
await workspace.loadModule();
workspace.writeFile('network.inp', text);
const model = new Project(workspace);
model.open('network.inp', 'report.txt', 'results.bin');

const timed = (work) => {
  const cpu = process.cpuUsage();
  const start = process.hrtime.bigint();
  work();
  const used = process.cpuUsage(cpu);
  return { elapsed: Number(process.hrtime.bigint() - start) / 1e9, processor: (used.user + used.system) / 1e6 };
};
const least = (a, b) => ({ elapsed: Math.min(a.elapsed, b.elapsed), processor: Math.min(a.processor, b.processor) });
const repeats = 20;
let analysis = { elapsed: Infinity, processor: Infinity };
let solution = analysis;
for (let i = 0; i < repeats; ++i) {
  analysis = least(analysis, timed(() => model.openH()));
  solution = least(solution, timed(() => {
    model.initH(10);  // flows begin anew
    model.runH();
  }));
  if (i + 1 < repeats) model.closeH();
}

let largest = 0;
let total = 0;
for (const [node, lph] of emitters) {
  const theirs = 1000 * model.getNodeValue(model.getNodeIndex(String(node)), NodeProperty.Demand);
  largest = Math.max(largest, Math.abs(theirs / lph - 1));
  total += theirs;
}
const ms = (seconds) => (1000 * seconds).toFixed(3);
console.log(`EPANET engine ${workspace.version}: total ${total.toFixed(6)} L/h, ours ${ours.total_lph}`);
console.log(`largest relative difference of a discharge ${largest.toExponential(1)} (reach: 1e-4)`);
console.log(`solution: theirs ${ms(solution.processor)} ms processor, ${ms(solution.elapsed)} elapsed; ` +
  `ours ${ms(ours.solve_processor_s)} and ${ms(ours.solve_s)}; ` +
  `ratio ${(solution.processor / ours.solve_processor_s).toFixed(1)}`);
console.log(`with analysis: theirs ${ms(solution.elapsed + analysis.elapsed)} ms elapsed, ` +
  `ours ${ms(ours.solve_s + ours.analysis_s)}; ` +
  `ratio ${((solution.elapsed + analysis.elapsed) / (ours.solve_s + ours.analysis_s)).toFixed(1)}`);
process.exit(largest <= 1e-4 ? 0 : 1);
