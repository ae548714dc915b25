### Lessons: what was found for a row of the rubric, and what was predicted and came.

found-check-on-truth = a check on the parts; visible when true values are shown
found-job-open = counts only if the job is passed
found-cause-named = named before any repair
found-cause-named-late = named, but only after a repair
found-cause-wrong = the named cause is not the real cause
found-cause-not-named = no cause was named
found-cause-was = Real cause: { $causes }
found-predicted = { $said } of { $of } questions answered before the result; a right answer earns no points
found-no-good-part = no good part was replaced
found-good-parts = good parts replaced: { $parts }
found-minutes = { $spent } min; target time { $par } min
found-money = { $spent } { $currency }; target { $par }
found-cautions-read = read before starting work
found-cautions-late = read, but only after work had started
found-cautions-not-read = not read

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
