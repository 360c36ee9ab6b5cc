// Reads calendar files with ical.js and prints what it understood as JSON: one list of events per file.
import { readFileSync } from "node:fs";
import ICAL from "ical.js";

function moment(time) {
  return time.isDate ? time.toString() : time.toUnixTime();
}

function read(path) {
  const calendar = new ICAL.Component(ICAL.parse(readFileSync(path, "utf-8")));
  return calendar.getAllSubcomponents("vevent").map((component) => {
    const event = new ICAL.Event(component);
    const start = component.getFirstPropertyValue("dtstart");
    return {
      uid: event.uid,
      start: moment(event.startDate),
      end: moment(event.endDate),
      floating: !start.isDate && start.zone.tzid === "floating",
      summary: event.summary,
      description: event.description,
      location: event.location,
      sequence: event.sequence,
      status: component.getFirstPropertyValue("status"),
      alarms: component.getAllSubcomponents("valarm")
        .map((alarm) => alarm.getFirstPropertyValue("trigger").toSeconds()),
    };
  });
}

console.log(JSON.stringify(process.argv.slice(2).map(read)));
