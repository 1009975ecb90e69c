# Prints what iCal::Parser finds in a calendar read from standard input: UID and day or local time, a line an occurrence or
# to-do. It forgets the zone of whatever repeats, so times are those of the clock on the wall.
# Arguments: the first day and the day after the last, as 20260101, and the house's zone.
use strict;
use warnings;
use iCal::Parser;

my ($first, $last, $zone) = @ARGV;
my $text = do { local $/; <STDIN> };
my $found = iCal::Parser->new(start => $first, end => $last, tz => $zone)->parse_strings($text);

sub show {
    my ($uid, $at) = @_;
    print "$uid ", $at->strftime('%Y-%m-%dT%H:%M:%S'), "\n";
}

for my $months (values %{ $found->{events} }) {
    for my $days (values %$months) {
        for my $events (values %$days) {
            show($_->{UID}, $_->{DTSTART}) for values %$events;
        }
    }
}
show($_->{UID}, $_->{DUE}) for @{ $found->{todos} };
