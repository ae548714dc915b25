### Files that a person writes (scenarios, actions, rubrics, answers, tickets, cars) and logbooks: what may be wrong with them.
### Words of a file's form (its keys, tables and ids) stay as they are in every language.

# The file itself, where a table could be named
the-file = the file

# The last of several
list-or = { $all } or { $last }

## The file as a whole

mistake-too-large = a file must be no larger than { $most } bytes; this one has { $given }
mistake-not-utf8 = a file must be text in UTF-8, and this character is not
mistake-not-toml = this is not TOML: { $says }
mistake-schema = schema must be { $schema }: this program reads no other

## Tables and keys

mistake-missing-table = the table { $table } is missing
mistake-missing-key = { $table } needs { $key } = …
mistake-missing-choice = { $table } needs { $key } = …, which is { $one_of }
mistake-unknown-key = { $table } has no key { $key }
mistake-unknown-key-of = { $table } has no key { $key }; its keys are { $keys }
mistake-goes-with = { $key } goes only with { $one_of }
mistake-goes-not-with = { $key } does not go with { $with }
mistake-not-both = { $table } takes either { $first } or { $second }, not both
mistake-needs-one-of = { $table } needs { $one_of }
mistake-written-as-list = { $key } must be written { $table }, with two brackets on each side
mistake-written-as-table = { $key } must be written { $table }, once only
mistake-too-many = { $what }: { $most } at most are allowed, and { $given } are given
mistake-too-few = { $what }: at least { $least } are needed
mistake-twice = { $what } has { $given } twice
mistake-twice-since = { $what } has { $given } twice: it is already on line { $line }

## Values

mistake-wrong-type = { $key } must be { $wanted }, but { $given } is given
mistake-empty = { $key } must not be empty
mistake-control-characters = { $key } must not contain control characters
mistake-line-breaks = { $key } must not contain line breaks or control characters
mistake-not-a-word = { $underscore ->
    [true] { $key } must be 1 to { $most } unaccented letters, digits, - and _ ({ $given } given)
   *[false] { $key } must be 1 to { $most } unaccented letters, digits and - ({ $given } given)
  }
mistake-not-one-of = { $key } must be { $one_of } ({ $given } given)
mistake-not-finite = { $key } must be a finite number
mistake-not-positive = { $key } must be more than 0 ({ $given } given)
mistake-out-of-range = { $key } must be from { $low } to { $high } ({ $given } given)
mistake-not-whole = { $key } must be a whole number from { $low } to { $high } ({ $given } given)
mistake-seed = { $key } must be a whole number from 0 to { $most }
mistake-too-long = { $key } must be no longer than { $most } characters

# What sort of value it is
type-text = text in quotes
type-word = a word
type-number = a number
type-whole = a whole number without a decimal point
type-flag = true or false, without quotes
type-date = a date or time
type-list = a list
type-table = a table
type-direction = up, down or same
type-number-or-text = a number or text in quotes
type-number-flag-or-text = a number, true, false or text in quotes

## The start of a scenario

mistake-car-name = car must be the name of a shipped car or a path ending in .toml ({ $given } given)
mistake-car-file = a car file must be in the scenario's folder or a folder below it, with / between folders ({ $given } given)
mistake-no-profile = this car has no memory profile { $given }; it has { $keys }
mistake-actions-start = [setup] of an action file takes run_s only, not { $given }
mistake-conditioning-too-long = all conditioning together may last { $most } min at most; up to here it lasts { $given } min
mistake-part-twice = this part is already given on line { $line }
no-car-unknown = there is no car `{ $car }`; shipped cars: { $keys }; or give a .toml file in the scenario's folder
no-car-no-folder = a shipped scenario cannot name a car file (`{ $car }` given)
no-car-unread = cannot read the car file `{ $car }`: { $says }
no-car-not-ordinary = the car file `{ $car }` must be an ordinary file, not a folder, a link or a device
no-car-too-large = the car file `{ $car }` must be no larger than { $most } bytes
no-car-wrong = `{ $car }`: { $why }
car-rule-not-read = { $says }
car-rule-schema = schema must be { $schema } ({ $given } given)
car-rule-wild = { $key } must be a finite number within ±{ $most } ({ $given } given)
param = { $key } { $rule }
param-out-of-range = must be from { $low } to { $high } ({ $given } given)
param-not-one-of = must be { $one_of } ({ $given } given)
param-code-letter = must be one of { $letters }, the letters of a code
param-rising = must rise from value to value
param-low-under-high = must have its low limit below its high limit
param-table = must have a row for each speed and a column for each pressure
param-whole-teeth = must be a whole number of teeth, 6° each
param-in-gap = must not let a segment start in the gap of the reluctor wheel
param-even = must be an even number of degrees
param-firing-order = must name 1 to { $most } cylinders that fire evenly
param-each-once = must name each cylinder from 1 to { $most } once
param-bank-each = must give a bank for each of the { $cylinders } cylinders
param-bank-count = must count from 1 to { $most } at most, without a gap
param-needs-direct = goes with [module.fuel.direct], and each needs the other
param-zero-with-direct = must be zero with [fuel.direct]: no fuel reaches the port wall
param-one-fewer = must hold one speed fewer than there are ratios
param-steps = must hold { $least } to { $most } steps
param-steps-alike = must differ in a switch from each step to the next
param-one-judge = must have exactly one step with judge = true
car-line = car file, line { $line }: { $rule }
car-file = car file: { $rule }
unfit-step = the crank step must be 2, 1 or 0.5° ({ $given } given)
unfit-module = the module of this car cannot be built: { $why }
unfit-tools = the data of the workshop tools cannot be read: { $says }
unfit-bytes = this bench state does not belong to this set-up
bench-part = a part does not fit this car: { $why }
bench-stopped = stopped while the car's history was being simulated

## Conditions, expectations and their paths

mistake-condition = when must read "<path> <comparison> <value>", for example "idle.mean_rpm > 500"
mistake-comparison = a comparison must be one of <, <=, >, >=, == and !=
mistake-path = a path is names joined by dots, for example "idle.mean_rpm" ({ $given } given)
mistake-not-a-number = { $given } is not a finite number
mistake-compared = the value must be a number, true, false or one word ({ $given } given)
mistake-ranks-numbers = { $sign } compares numbers only ({ $given } given)
mistake-expect-at = at must be a number of seconds, or "end"
mistake-limits-or-is = { $key } does not go with is: give min and max, or is
mistake-min-above-max = min must not be more than max ({ $min } and { $max } given)
mistake-no-path = there is no value at the path { $given }
mistake-path-to-group = the path { $given } leads to a group of values, not to one value
mistake-path-type = { $given } is { $is }, but it is compared with { $wanted }

## Acts

mistake-time-falls = at_s must not go back: the actions above end at { $earliest } s or later ({ $given } given)
mistake-swap-two = swap_injectors must name two cylinders, for example [2, 3]
mistake-swap-same = swap_injectors must name two different cylinders ({ $cylinder } given twice)
mistake-day-too-long = the trips of a day may last { $most } min at most
mistake-act-reaches = { $place ->
    [bank] action `{ $act }` is for bank { $number }, but this car has { $has }
   *[cylinder] action `{ $act }` is for cylinder { $number }, but this car has { $has }
  }
mistake-not-on-car = { $table }: this car has no { $given }
mistake-names = { $place ->
    [bank] { $what } names bank { $number }, but this car has { $has }
   *[cylinder] { $what } names cylinder { $number }, but this car has { $has }
  }

## Lessons, rubrics and answers

mistake-no-right-cause = at least one cause must have right = true
mistake-deed = an action here is words joined by dots, for example "part.coil.3" ({ $given } given)
mistake-no-deed = there is no action "{ $deed }"
mistake-outcome-is-truth = the result of a question must be something that can be seen, not truth
mistake-told-before = { $key } is shown before the result: it must not contain a name of [[vary]], as that would give the value away
mistake-reserved = { $key } must not be { $given }: the question about the cause has this name
mistake-choices-overlap = the choices { $other } and { $id } would both be right for the same result
mistake-never-met = this check can never be met: did must name an action, and most must not be less than times
mistake-truth-in-rubric = while true values are hidden, a rubric of your own may not ask for truth.…: add --lid open
mistake-new-row = a new row needs says and points; existing rows: { $keys }
mistake-no-row = the rubric has no row "{ $row }"; its rows are { $keys }
mistake-no-causes = this scenario has no causes to choose from
mistake-no-cause = this scenario has no cause "{ $cause }"; it has { $keys }
mistake-no-questions = this scenario asks no questions
mistake-no-question = this scenario has no question "{ $ask }"; it has { $keys }
mistake-answer = the answer to the question "{ $ask }" must be { $wanted }
mistake-answer-one-of = the answer to the question "{ $ask }" must be { $one_of }

## What differs from trainee to trainee

mistake-map-of = of must be the name of a [[vary]] above it ({ $given } given)
mistake-map-of-no-choice = of must name a choice or another map, and { $given } is neither
mistake-map-has = map has { $given }, but { $name } can only be { $keys }
mistake-map-lacks = map gives no value for { $name } = { $value }
mistake-name-unused = the name { $name } is never used: write {"{"}{ $name }{"}"} in a text
mistake-name-not-closed = an opening brace in a text starts a name, and the closing brace is missing; a brace itself is written {"{{"}
mistake-no-name = no [[vary]] of the scenario has the name { $given }; a brace itself is written {"{{"}
mistake-default-not-chosen = default must be one of the values of choose ({ $given } given)
mistake-decimals = { $given } has more decimals than decimals = { $decimals } allows
mistake-uniform = uniform must be two numbers, [low, high] ({ $given } given)
mistake-uniform-order = uniform must be [low, high] with low below high ({ $low } and { $high } given)
mistake-mean-outside = the mean must lie between low and high (mean { $mean }, from { $low } to { $high } given)
mistake-narrow = low and high must be at least one sd apart: use uniform where only the limits matter (from { $low } to { $high } and sd { $sd } given)
mistake-trainee-length = the trainee's name must have 1 to { $most } characters ({ $given } given)
mistake-trainee-control-characters = the trainee's name must not contain control characters or invisible ones
mistake-trainee-spaces = the trainee's name must not start or end with a space

## Tickets and keys

mistake-no-ticket = this is not a ticket: { $says }
mistake-ticket-form = this ticket has format { $given }; this program reads format { $reads }
mistake-ticket-of-other = this ticket is for another text of scenario { $scenario }, or for another scenario
mistake-short-key = a key must have { $least } bytes or more ({ $given } given)

## Sessions

no-act-in-both = both files have an action `{ $act }`: write `scenario:{ $act }` or `actions:{ $act }`
no-act-unknown = there is no action `{ $act }`; { $acts }
no-act-not-under-lid = there is no action `{ $act }` (while true values are hidden, actions that tell the fault are not listed); { $acts }
no-act-of-both = the action file has { $own }; the scenario has { $scenario }
no-act-of-scenario = the scenario has { $scenario }

session-no-thread = the system cannot start a thread for the bench
trainee-unsealed = { $trainee }, class seed { $seed } (unsealed)
trainee-sealed = { $trainee }, class seed { $seed } (by ticket, seal checked)
trainee-by-ticket = { $trainee }, class seed { $seed } (by ticket, seal not checked here)
session-prices = the price list cannot be read: { $why }
session-locked = this scenario keeps true values hidden (lid = "locked")
session-asks-for-truth = `{ $path }` is a true value, and true values are hidden: an action file may ask for it only with --lid open
session-rubric = { $file }, line { $line }: { $why }

## Logbooks: why one is no logbook, was written by another version, does not come out, or does

reason-comes-out = replay gives the same { $lines } lines and the same final state
reason-empty = it is empty
reason-no-json = its first line is not a JSON object
reason-no-program = its first line does not say which Idlewright wrote it
reason-other-form = written with logbook format { $theirs }; this program writes format { $ours }. Only the same version can replay it
reason-other-program = written with Idlewright { $theirs }; this is { $ours }. Only the same version can replay it
reason-other-physics = written with physics { $theirs }; this program has { $ours }. Only the same version can replay it
reason-header = the header is not valid: { $says }
reason-header-lid = the header's lid is neither open nor closed
reason-header-step = the header's crank step cannot be run
reason-header-trainee = the header: { $why }
reason-header-half = the header has only some of class seed, trainee and ticket
reason-header-actions = the text of the header's `actions` does not match its hash
reason-cut-off = cut off: the last line does not say how it ended
reason-end = the last line is not valid: { $says }
reason-no-line = this is not a line of a logbook
reason-unknown-act = this version does not know this action
reason-too-long = no run is that long
reason-time-falls = its time is before the line above it or after the end
reason-act = this action is not possible: { $why }
reason-line-differs = the replay does not give this line; this action or an earlier one was changed
reason-line-too-many = the replay does not give this line: nothing happens until the next action; this action or an earlier one was changed
reason-line-missing = a line is missing before the end
reason-header-differs = the replay does not give the header's `{ $key }`
reason-state-differs = the replay gives another final state: something else was done
reason-sum-differs = the replay gives the same result, but the text was changed: a name, the last line, or a line without effect
reason-end-differs = the replay does not give this end
reason-last-line-differs = the last line is not valid
reason-no-such-lid = this run is not possible with this setting of true values (--lid)
reason-no-such-actions = the header's `actions` cannot be run
reason-other-car = the car file is not the one that was used
reason-give-scenario = this scenario is not shipped with the program: give its file with --scenario
reason-other-scenario = `{ $file }` is not the scenario that was run
reason-other-scenarios = none of the files given with --scenario is the one that was run
reason-other-sources = made by another build of the program; here: { $why }
reason-changed-text = the text was changed, here or further down: the checksum is wrong; and { $why }
