### Lessons: what was found for a row of the rubric, and what was predicted and came.

found-check-on-truth = a check on the parts; told when the lid is open
found-job-open = counts for a closed job only
found-cause-named = named before anything was repaired
found-cause-named-late = named, but only after something had been repaired
found-cause-wrong = the cause that was named is not the cause
found-cause-not-named = no cause was named
found-cause-was = What was wrong: { $causes }
found-predicted = { $said } of { $of } questions answered before the outcome; a right answer earns no points
found-no-good-part = no good part was replaced
found-good-parts = good parts replaced: { $parts }
found-minutes = { $spent } min; a practised technician needs { $par } at most
found-money = { $spent } { $currency }; a practised technician needs { $par } at most
found-cautions-read = read before anything was touched
found-cautions-late = read, but only after something had been touched
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
asked-anything = any number
asked-condition = { $condition } within { $within } s
asked-done = done
asked-not-reached = { $asked } (not reached)
why-not-done = the scenario's own act `{ $act }` could not be done
why-not-done-because = the scenario's own act `{ $act }` could not be done: { $because }
why-in-vain = act `{ $act }` waited in vain
why-waited-for = act `{ $act }` waited in vain for { $condition }

# Which way a value went
way-up = up
way-down = down
way-same = unchanged
outcome-way = { $way }: from { $from } to { $to }
outcome-choice = { $says } ({ $value })
outcome-no-choice = none of the answers ({ $value })
