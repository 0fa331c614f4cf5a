// Times are written in UTC; a phone shows them by its own clock.
"use strict";

for (const time of document.querySelectorAll("time[datetime]")) {
  const moment = new Date(time.dateTime);
  if (!Number.isNaN(moment.getTime())) {
    const two = (number) => String(number).padStart(2, "0");
    time.title = time.textContent;
    time.textContent = `${moment.getFullYear()}-${two(moment.getMonth() + 1)}-${two(moment.getDate())}`
      + ` ${two(moment.getHours())}:${two(moment.getMinutes())}`;
  }
}
