// Prints what KDE's KCalendarCore finds in a calendar read from standard input: UID and day or UTC time, a line an
// occurrence or to-do. Arguments: the first day, the day after the last, the house's zone, and how it is asked: `spans` (its
// iterator of occurrences) or `days` (what stands on each day, as a month view asks; days only, without time).
#include <KCalendarCore/ICalFormat>
#include <KCalendarCore/MemoryCalendar>
#include <KCalendarCore/OccurrenceIterator>
#include <QFile>
#include <QTextStream>
#include <QTimeZone>

using namespace KCalendarCore;

static QString plain(const QDateTime &at, bool whole)
{
    return whole ? at.date().toString(Qt::ISODate)
                 : at.toUTC().toString(QStringLiteral("yyyy-MM-ddTHH:mm:ss")) + QStringLiteral("+00:00");
}

int main(int, char **argv)
{
    const QDate first = QDate::fromString(QString::fromLatin1(argv[1]), Qt::ISODate);
    const QDate last = QDate::fromString(QString::fromLatin1(argv[2]), Qt::ISODate);
    const QTimeZone zone(argv[3]);
    QFile in;
    if (!in.open(0, QIODevice::ReadOnly))
        return 1;
    MemoryCalendar::Ptr calendar(new MemoryCalendar(zone));
    if (!ICalFormat().fromRawString(calendar, in.readAll()))
        return 1;
    QTextStream out(stdout);
    for (const auto &todo : calendar->rawTodos())
        out << todo->uid() << ' ' << plain(todo->dtDue(), todo->allDay()) << '\n';
    if (QString::fromLatin1(argv[4]) == QStringLiteral("days")) {
        for (QDate day = first; day < last; day = day.addDays(1))
            for (const auto &event : calendar->rawEventsForDate(day, zone))
                out << event->uid() << ' ' << day.toString(Qt::ISODate) << '\n';
        return 0;
    }
    OccurrenceIterator found(*calendar, QDateTime(first, QTime(0, 0), zone), QDateTime(last, QTime(0, 0), zone).addSecs(-1));
    while (found.hasNext()) {
        found.next();
        if (found.incidence()->type() == Incidence::TypeEvent)
            out << found.incidence()->uid() << ' ' << plain(found.occurrenceStartDate(), found.incidence()->allDay()) << '\n';
    }
    return 0;
}
