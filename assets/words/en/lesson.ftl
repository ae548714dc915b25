### Lessons: what was found for a row of the rubric, and what was predicted and came.

found-check-on-truth = a check on the parts; visible when true values are shown
found-job-open = counts only if the job is passed
found-whole = nothing is wrong with the car any more
found-learned-right = every learned value suits the fitted parts
found-not-whole-kept = something on the car is still not right; visible when true values are shown
found-learned-wrong-kept = a learned value still does not suit the fitted parts; visible when true values are shown
found-not-mended = what was wrong has not been put right, so there is no repair to verify
found-proof-started = engine started again after the last change
found-proof-not-started = engine not started again since the last change; clearing codes is a change too
found-proof-codes-read = trouble codes read after that start
found-proof-codes-not-read = trouble codes not read after such a start
found-no-code-left = no trouble code pending, lamp off
found-code-left = { $code } is pending or keeps the lamp on
found-causes-too-many =
    { $wrong ->
        [one] one wrong cause was named as well
       *[other] { $wrong } wrong causes were named as well
    }
found-cause-named = named before any repair
found-cause-named-late = named, but only after a repair
found-cause-wrong = the named cause is not the real cause
found-cause-not-named = no cause was named
found-cause-was = Real cause: { $causes }
found-predicted = { $said } of { $of } questions answered before the result; marks are for answering, not for being right
found-no-good-part = no good part was replaced
found-good-parts = good parts replaced: { $parts }
found-minutes = { $spent } min; target time { $par } min
found-money = { $spent } { $currency }; target { $par }
found-cautions-read = read before starting work
found-cautions-late = read, but only after work had started
found-cautions-not-read = not read

# What is not right on the car, told when true values are shown
not-whole-part = { $part } worn or out of tolerance: { $is }
not-whole-wrong-part = { $part } of the wrong type or size
not-whole-sensor = { $sensor } sensor reads wrong
not-whole-wire = wiring of the { $sensor } sensor faulty
not-whole-unplugged = not connected: { $connector }
not-whole-inlet-leak = intake air leak, { $area } mm²
not-whole-exhaust-leak = exhaust leak ahead of the oxygen sensor, { $area } mm²
not-whole-interrupter = misfire box still in the coil wire of cylinder { $cylinder }
not-whole-accessory = something draws { $amps } A all the time
not-whole-charger = the battery charger is still connected
not-whole-injector-code = stored injector code of cylinder { $cylinder } does not match the injector
not-whole-battery-record = registered battery type or capacity does not match the battery
not-whole-battery-age = the registered age is that of another battery
not-whole-not-learned = { $name }: erased and not relearned
not-whole-learned = { $name }: stored { $value }, the fitted parts need { $needs }
not-whole-not-saved = { $name }: correct now, but not yet saved; key off lets the module save it
not-whole-code = { $code } is pending or keeps the lamp on

# Lines of the job card
work-time = time with the car
work-measure = measure: { $what }
work-service = service: { $what }
work-fit = fit: { $what }

# What was expected, and why it was judged
asked-between = { $min } to { $max }
asked-at-least = at least { $min }
asked-at-most = at most { $max }
asked-anything = any value
asked-condition = { $condition } within { $within } s
asked-done = done
asked-not-reached = { $asked } (not reached)
why-not-done = action `{ $act }` of the scenario was not possible
why-not-done-because = action `{ $act }` of the scenario was not possible: { $because }
why-in-vain = action `{ $act }` waited too long
why-waited-for = action `{ $act }` waited too long for { $condition }

# Which way a value went
way-up = up
way-down = down
way-same = unchanged
outcome-way = { $way }: from { $from } to { $to }
outcome-choice = { $says } ({ $value })
outcome-no-choice = none of the answers ({ $value })
