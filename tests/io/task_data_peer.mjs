// SPDX-License-Identifier: Apache-2.0
// The time logs of a zip of task data as the npm package isoxml reads them, one row to a record:
// log | record | s since 1980-01-01 | latitude | longitude | status | values in the header's order,
// each as it was last logged.
//
// usage: node task_data_peer.mjs TASKDATA.zip
import { readFileSync } from 'node:fs';
import isoxml from 'isoxml';

const start = Date.UTC(1980, 0, 1);
const manager = new isoxml.ISOXMLManager();
await manager.parseISOXMLFile(new Uint8Array(readFileSync(process.argv[2])), 'application/zip');
for (const task of manager.rootElement.attributes.Task) {
  for (const log of task.attributes.TimeLog) {
    const keys = log.parseBinaryFile().valuesInfo.map((info) => info.valueKey);
    log.getFilledTimeLogs().forEach((record, i) => {
      const { PositionNorth, PositionEast, PositionStatus } = record.position;
      const cells = [log.attributes.Filename, i + 1, (record.time.getTime() - start) / 1000,
        PositionNorth, PositionEast, PositionStatus,
        ...keys.map((key) => record.values[key] ?? '')];
      console.log(cells.join(' | '));
    });
  }
}
