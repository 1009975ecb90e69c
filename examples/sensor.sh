#!/bin/sh
# Send a reading of now to the address that `carecal place sensor PLACE` showed:
#     sensor.sh TEMPERATURE [HUMIDITY [LIGHT]]        in °C, % and lux; '' where one is not known
# The address is a secret: it is read from the file that SENSOR_ADDRESS_FILE names, so that it stands in no list of
# programs. What cannot be sent waits in a file beside it and goes along the next time; for cron:
#     */5 * * * *  SENSOR_ADDRESS_FILE=/etc/sill-address /usr/local/bin/sensor.sh $(read-my-sensor)
set -eu
[ $# -ge 1 ] || { echo "usage: sensor.sh TEMPERATURE [HUMIDITY [LIGHT]]" >&2; exit 2; }
file=${SENSOR_ADDRESS_FILE:?name the file that holds the address}
waiting=${SENSOR_WAITING:-$file.waiting}

[ -s "$waiting" ] || echo 'time,temperature,humidity,light' >"$waiting"
echo "$(date -u +%Y-%m-%dT%H:%M:%SZ),$1,${2:-},${3:-}" >>"$waiting"
if [ "$(wc -l <"$waiting")" -gt 2000 ]; then # a week by five minutes: the oldest go first
    { head -n 1 "$waiting"; tail -n 1900 "$waiting"; } >"$waiting.new" && mv "$waiting.new" "$waiting"
fi

# curl reads the address from standard input, too.
answer=$(printf 'url = "%s"\n' "$(head -n 1 "$file")" |
    curl --silent --max-time 30 --output /dev/null --write-out '%{http_code}' --data-binary "@$waiting" --config -) || answer=000
case $answer in
200) rm -f "$waiting" ;;
422) mv "$waiting" "$waiting.refused"; echo "refused; see the place's page and $waiting.refused" >&2; exit 1 ;;
*) echo "not sent ($answer); kept in $waiting" >&2; exit 1 ;;
esac
