# Debrief, twin page, job card, account on a terminal, pictures.

quantity = { $value } { $unit }

## Cautions that stand on every printout.

standing-gas = A running engine fills a closed room with carbon monoxide, which kills unnoticed: extraction on before it starts.
standing-belts = Hands, hair, cloth and tools stay clear of belts and fans; a fan can start by itself.
standing-hot = Exhaust and catalyst burn skin and start fires, also after the engine has stopped.
standing-plate = A powered throttle plate moves without warning: keep fingers out while it has power.
standing-model = This is a simplified model of made-up cars. The vehicle maker's current procedure, workplace rules and the instructor always win. A screen shows reasoning, not hands: competence on a car must be shown on a car.

## Learned values: who wrote them.

written-at-works = when the car was built
written-before = { $who }, before it came in
written-earlier = { $who }, earlier
written-at = { $who }, at { $at }
history-when-before = before the car came in
history-when-at = at { $at }
history-never = never learned: the default
history-works = set when the car was built
history-ordinary = last moved by ordinary learning, { $when }
history-reset = put back to its default by a group reset, { $when }
history-power = lost with the power, { $when }
history-other = last written by the { $who }, { $when }

## Codes, lamp, lid, idle.

state-pending = pending
state-confirmed = confirmed
state-permanent = permanent
state-healed = stored, healed
code-not-stored = not stored
lamp-off = off
lamp-on = on
lamp-flashing = flashing: ease off
lid-open = open
lid-closed = closed
idle-over-target = { $off } over target { $target }
idle-under-target = { $off } under target { $target }
idle-on-target = on target { $target }
lambda-cold = sensor cold
lambda-two = { $a } and { $b }

## Expectations.

said-yes = yes
said-no = no
said-none = no value
line-hidden = hidden
line-hidden-why = told when the lid is open
mark-met = ✓ met
mark-not-met = ✗ not met
verdict-none = nothing was expected
verdict-all = all { $all } met
verdict-some = { $met } of { $all } met
verdict-stopped = { $verdict }; stopped before its end
path-gate-open = { $of }: gate "{ $gate }" open
path-of = { $of }: { $what }
path-code = code { $code } { $what }
path-unit = { $what } ({ $unit })
key-of-mean = mean speed
key-of-sd = spread of speed
key-of-map = manifold pressure
key-of-air = air
key-of-idle = idle
key-of-lamp = lamp
key-of-lambda = lambda
key-of-trims = trims
key-of-bank1 = bank 1
key-of-bank2 = bank 2
key-of-pending = pending
key-of-confirmed = confirmed
key-of-permanent = permanent
key-of-learned = learned
key-of-written-by = written by
key-of-value = value
key-of-truth = truth
key-of-short = short
key-of-long = long
key-of-long-idle = long idle
key-of-long-part = long part
key-of-long-high = long high
key-of-engine-speed = engine speed
key-of-target = target
key-of-coolant = coolant
key-of-supply = supply
key-of-routine = routine
key-of-running = running
key-of-idling = idling
key-of-parts-bought = parts bought
key-of-money = money
key-of-minutes = minutes
key-of-misfires = misfires
key-of-misfires-n = misfires { $n }
key-of-misfire = misfire
key-of-misfire-watched = misfire watched
key-of-watched = watched
key-of-readiness = readiness
key-of-complete = complete
key-of-fuel-system = fuel system
key-of-count = count
key-of-cylinders = cylinders
key-of-cylinder-n = cylinder { $n }
key-of-deposit = deposit
key-of-unmetered-leak = unmetered leak
key-of-wheel-off = wheel off
key-of-idle-air-needed = idle air needed
key-of-closed-stop = closed stop
key-of-air-by-pressure = air by pressure
key-of-idle-pi = idle pi
key-of-idle-load = idle load
key-of-charge-age = charge age
key-of-charge-base = charge base
key-of-charge-set = charge set
key-of-throttle = throttle
key-of-purge = purge
key-of-canister = canister
key-of-rail = rail
key-of-battery = battery
key-of-kind = kind
key-of-imep = imep
key-of-exhausts = exhausts
key-of-back = back
key-of-catalyst = catalyst
key-of-tool = tool

## Lines of the logbook: who speaks.

who-says = says
who-hand = hand
who-bench = bench
who-module = module
who-tool = tool
who-driver = driver
entry-hindered = would not do it: { $why }
entry-model = model at its limits: { $what }
entry-timed-out = waited in vain for { $condition }
row-not-done = { $what } (could not be done: { $why })
row-answered = { $what } ({ $answer })
row-told = { $what }: { $told }

## What a hand did.

act-key-off = key off
act-key-on = key on
act-key-crank = cranked
act-pedal = pedal to { $pct } %
act-brake-on = brake pressed
act-brake-off = brake released
act-gear = gear to { $gear }
act-load-on = { $load } on
act-load-off = { $load } off
act-steering-on = steering turned at standstill
act-steering-off = steering let go
act-battery-clamp-on = battery clamp on
act-battery-clamp-off = battery clamp off
act-plugged-in = { $connector } plugged in
act-unplugged = { $connector } unplugged
act-throttle-cleaned = throttle body cleaned in place
act-leak-tight = hoses and gaskets made tight
act-leak-opened = leak of { $area } mm² opened
act-leak-something = something done to hoses and gaskets
act-exhaust-tight = exhaust made tight
act-exhaust-opened = exhaust leak of { $area } mm² opened
act-exhaust-something = something done to the exhaust
act-sensor-right = { $sensor } and its wire put right
act-sensor-ill = { $sensor } made ill: { $ill }
act-sensor-something = something done to a sensor or its wire
act-injectors-swapped = injectors of cylinders { $a } and { $b } swapped
act-code-copied = code on the injector of cylinder { $body } entered for it
act-code-copied-wrong = code on the injector of cylinder { $body } entered for cylinder { $cylinder }
act-interrupter-in = box in coil { $n }'s wire, swallowing { $pct } % of its sparks
act-interrupter-out = box out of coil { $n }'s wire
act-refuelled = { $litres } L filled in
act-accessory-out = accessory taken out
act-accessory-posts = accessory of { $amps } A wired straight to the battery's posts
act-accessory-behind = accessory of { $amps } A wired behind the current sensor
act-rested = locked and left for { $hours } h
act-driven-on = driven on for { $days ->
    [one] { $days } day
   *[other] { $days } days
}: { $trips ->
    [one] { $trips } trip
   *[other] { $trips } trips
} a day of { $minutes } min, { $pattern }, { $week ->
    [one] { $week } day
   *[other] { $week } days
} a week
act-held = held at { $rpm } rpm against { $torque } N·m on rollers
act-driven = driven by the pattern { $pattern } for { $minutes } min
act-measured-careful = { $tool }. { $caution }
act-watch-nothing = service tester watches nothing
act-watch = service tester watches { $names }
act-waited = waited
act-fit = { $part } fitted
act-fit-done = { $part } done
act-fit-module = module replaced by a blank one
act-fit-cam-drive = cam drive put on
act-fit-serial = serial { $serial }
ill-one = { $what } { $value }
part-one-sensor = { $sensor } sensor
measured-at = { $tool } at { $at }
measured-looked = looked at { $at }
measured-round = { $tool } round the { $at }
measured-cylinder = { $tool } gauge in cylinder { $n }

note-cautions = the cautions were read
note-cause = holds to be wrong: { $cause }
note-predicts = predicts, to "{ $question }": { $answer }
note-words = notes: { $words }
note-lid-opened = the lid was opened
note-lid-closed = the lid was closed
note-forked = forked: from here on a second future could be tried
note-rewound = went back to a mark: { $seconds } s of work undone

## What the module was asked, and what it answered.

ask-codes = asked for codes
ask-clear-codes = asked to clear codes
ask-freeze-frame = asked for the freeze frame of { $code }
ask-learned = asked for learned values
ask-live = asked for live values
ask-value = asked for { $name }
ask-readiness = asked for readiness
ask-write-code = entered injector code { $code } for cylinder { $cylinder }
ask-injector-code = asked for the injector code of cylinder { $cylinder }
ask-enter-battery = entered a battery: { $kind }, { $rated } Ah
ask-battery-record = asked for the battery record
ask-own-idle = asked for the module's own idle speed
ask-idle = asked for an idle of { $rpm } rpm
ask-start = asked to start: { $routine }
ask-progress = asked how the routine stands
ask-stop = asked to stop the routine

answer-list = { $head }: { $items }
answer-ok = accepted
answer-refused = refused: { $because }
answer-silent = no answer: asleep or without power
answer-no-code = no code stored
answer-codes = codes
answer-code = { $code } { $state }
answer-no-freeze-frame = no freeze frame stored for it
answer-freeze-frame = freeze frame
answer-freeze-frame-is = { $rpm } rpm, coolant { $coolant } °C, manifold { $map } kPa, air { $air } g/s, trims { $short } and { $long } %
answer-learned = learned values
answer-live = live
answer-live-is = { $rpm } rpm (target { $target }), manifold { $map } kPa, air { $air } g/s, coolant { $coolant } °C, supply { $supply } V
answer-no-injector-code = no injector code stored
answer-injector-code = injector code { $code }
answer-battery = battery record: { $kind } { $rated } Ah, { $passed } of { $worn } Ah counted through it
answer-value = value { $x }
answer-readiness = readiness
answer-all-complete = every monitor complete
answer-not-complete = not complete: { $monitors }

## Every page.

page-trainee = Trainee
page-worked-by = Worked by
page-cautions = Cautions for the real bay
page-cautions-always = And always
page-closing = What this shows, and what it does not
page-closing-says = A screen shows reasoning, not hands. This page tells what was measured, asked and done on a simplified model of a made-up car, and what came of it. It does not tell that anybody can do it on a car: competence on a car must be shown on a car. The vehicle maker’s current procedure, workplace rules and the instructor always win.
page-foot = Idlewright { $version }. Scenario { $scenario }, seed { $seed }, crank step { $step }°.
page-foot-open = Lid open: truth is shown in bold ink.
page-foot-closed = Lid closed: no truth is shown.
page-foot-state = State at the end
page-foot-same = The same scenario, seed and acts give the same page.
fact-car = Car
fact-odometer = Odometer
fact-km = { $km } km
fact-handed-over = Handed over at
fact-stopped = Stopped at
fact-ended = Ended at
fact-time = { $time } min:s
fact-lamp = Lamp
fact-lid = Lid

## Debrief.

debrief-page-title = Debrief: { $title } ({ $id })
debrief-kind = Debrief and job card
debrief-limits = Where the model reached its limits
found-heading = What was found
found-verdict = Expectations: { $verdict }.
found-result = Result
found-what = What and why
found-found = Found
found-wanted = Wanted
found-at = At, min:s
found-teaches = What it teaches
compared-what = What
compared-before = At hand-over
compared-after = At the end
readings-heading = Readings
seen-none = none
seen-no-idle = no warm idle
seen-idle-speed = Idle speed, mean of up to 30 s
seen-idle-against = { $rpm } rpm, { $against }
seen-spread = Its spread
seen-map = Manifold pressure
seen-air = Metered air
seen-throttle = Throttle above its stored stop
seen-spark = Spark before top
seen-lambda = Lambda
seen-short-trim = Short-term trim, bank { $bank }
seen-long-trim = Long-term trim at idle, bank { $bank }
seen-long-trim-is = { $air } g/s, { $pct } %
seen-lamp = Lamp
seen-codes = Codes
seen-code = Code { $code }, { $says }
tools-heading = Measured with bay tools
tools-reading = at { $at } min:s: { $words }
tools-note = The last reading of each. Every instrument has an error of its own.
learned-heading = Learned values
learned-note = End stops are the limits, the notch the default. The dashed bar runs from there to the pencil mark, which is the value now; the faint mark is the value at hand-over.
learned-note-truth = The ink mark below is what the fitted parts really are.
learned-title = { $name } in { $unit }: now { $now }, before { $before }, default { $default }, limits { $low } to { $high }
learned-title-truth = { $told }, the parts { $truth }
learned-below = Before { $before }, default { $default }. { $history }.
ruler-unchanged = unchanged
ruler-before-now = before, now
ruler-now-before = now, before
ruler-now = now
ruler-before = before
ruler-parts = the parts: { $value }
gates-heading = May it learn now?
gates-not-looked = The module has not looked at its gates since power-up.
gates-others = The other learned values
gates-all-open = all gates open
gates-of = { $of }: { $why }
gate-open = open
gate-shut = shut
air-heading = Idle air adds up
air-not-running = The engine did not run at the end; these are the last values.
air-not-in-force = Idle control was not in force at the end.
air-base = base
air-loads = loads
air-learned = learned
air-pi = PI
air-asked-for = asks for
air-metered = metered air
air-flow = { $value } g/s
air-title = idle air in g/s: base { $base }, loads { $loads }, learned { $learned }, PI { $pi } add to { $all }
air-note = Pencil is what the module reckons at the end of the run; PI is the controller's own part, which also takes back what was learned wrongly, as far as its limit. The thin outline is what the air meter saw.
truth-heading = What was true, with the lid open
truth-deposit = Deposit on the throttle
truth-idle-air = Idle air that the parts need
truth-closed-stop = Closed throttle stop
truth-leak = Unmetered leak
truth-leak-is = { $area } mm², { $flow } g/s
truth-air-meter = Air meter
truth-coolant = Coolant
truth-cylinders = Cylinders at the end
truth-cylinder-number = Cylinder
truth-cylinder-lambda = Lambda
truth-cylinder-pressure = Mean pressure, kPa
truth-cylinder-scatter = Its scatter, %
truth-cylinder-residual = Residual gas, %
truth-cylinder-misfires = Misfires
truth-parts = Fitted parts at the end
truth-part-part = Part
truth-part-serial = Serial
truth-part-is = As it is

## The logbook on a page.

logged-heading = What was done, and what the module decided
logged-earlier = Before the car came in: { $lines ->
    [one] { $lines } line
   *[other] { $lines } lines
} of the logbook, from { $from } to { $to } before
logged-before = { $span } before
logged-up-to = Up to hand-over at { $at }
logged-after = After hand-over
logged-nothing = Nothing was done, and the module decided nothing.
logged-note = Times in minutes and seconds from where the job begins. The numbers are those of the marks on the traces.
logged-mark = Mark
logged-when = When
logged-who = Who
logged-what = What
logged-told = What it told
logged-read-heading = What was read from the module
span-seconds = { $n } s
span-minutes = { $n } min
span-hours = { $n } h

## Job card.

card-heading = Job card
card-act = Act
card-work = Work
card-minutes = min
card-sum = { $minutes } min, { $money } { $currency }, { $parts ->
    [0] no part bought
    [one] { $parts } part bought
   *[other] { $parts } parts bought
}
card-line = { $times ->
    [one] { $what } { $minutes } min
   *[other] { $times } × { $what } { $minutes } min
}

## Grade.

grade-heading = What it is worth
grade-closed = The job is closed: { $points } of { $of } points, { $pct } %
grade-open = The job is not closed: { $points } of { $of } points, { $pct } %
grade-verdict = { $sum }.
grade-short-closed = ✓ { $pct } %
grade-short-open = ✗ { $pct } %
grade-row = { $points } of { $of } { $says }
grade-row-lost = { $row }; not met: { $lost }
grade-predicted = "{ $question }" predicted { $said }; came { $came }
grade-said-nothing = nothing
grade-not-seen = not seen
grade-rewound = { $times ->
    [one] The bench was set back to a mark once.
   *[other] The bench was set back to a mark { $times } times.
}
grade-lid-opened = The lid was opened over truth while the work went on.
grade-points = Points
grade-task = Task
grade-what = What is judged, and what was found
grade-points-of = { $points } of { $of }
grade-closes = must be whole for the job to be closed
grade-nothing-closes = This scenario has nothing by which a job could be closed.
stated-heading = Named as the cause
predicted-heading = Predicted, and what came
predicted-question = Question
predicted-said = Predicted
predicted-came = What came
predicted-result = Result
predicted-put = put at { $at }. { $why }
predicted-no-answer = no answer
predicted-ended-before = the attempt ended before
predicted-looked = at { $at }
predicted-right = ✓ as predicted
predicted-wrong = ✗ not as predicted
moments-heading = Belief beside truth, at the moments that matter
moments-note = What the module believes in pencil, what the parts are in ink; just before each repair and each learn.
moments-before = Before
moments-at = At, min:s
moments-engine = Engine, rpm
moments-hand-over = hand-over
moments-end = the end
moments-idle-air = Learned idle air, g/s
moments-closed-stop = Closed stop, °
moments-wheel = Wheel table, largest window, °
path-heading = A way to the same end
path-to-end = The model solution comes to { $work }. Every car differs a little, and another order may be as good.

## Charts.

key-belief = pencil: what the module believes or wants
key-measured = thin line: measured
key-truth = ink: true
key-marks = marks with numbers: what was done and decided, above
traces-heading = Traces
traces-none = Nothing was recorded.
scale-days = days
scale-minutes = min:s
flag-hand-over = hand-over
flag-they-part = they part
figure-speed = Engine speed: what the module wants, and what it measures
figure-idle-air = Idle air: what was learned, and what the controller adds
figure-air = Manifold pressure and air
figure-fuel = Fuel trims and lambda, bank 1
panel-idle-air = idle air
panel-air = air
panel-trims = fuel trims
panel-unit = { $what }, { $unit }
panel-how = { $what }, { $how }
panel-cut = cut at 0.6 and 1.4
line-measured = measured
line-target = target
line-learned = learned
line-parts-need = parts need
line-metered = metered
line-leak = leak
line-short-term = short-term
line-long-term = long-term
line-cylinder-1 = cylinder 1
numbers-heading = The numbers, at a few moments
numbers-of = { $of }, { $line }
numbers-of-unit = { $of }, { $line } ({ $unit })
numbers-no-reading = no reading
numbers-over = over

curves-heading = { $car }: how well misfires are told
curves-watched = { $engines ->
    [one] { $engines } engine
   *[other] { $engines } engines
}, each with parts and a wheel of its own; { $turns } turns watched for false counts on each and at each point, a quarter of that for misfires.
curves-key = Drawn through: wheel learned. Dashed: not learned. Disc: low load. Square: high load. A simplified model of a made-up car.
curves-found = Real misfires found, % (one spark in { $one_in } swallowed)
curves-wrong = False counts in 1000 turns of a healthy engine
curves-none-seen = none seen
curves-speed = engine speed, rpm
curves-learned-low = learned, low load
curves-learned-high = learned, high load
curves-not-learned-low = not learned, low load
curves-not-learned-high = not learned, high load

## Account on a terminal. Labels have up to 13 letters.

account-trainee = trainee
account-worked-by = worked by
account-car = car
account-car-is = { $car }, { $km } km; seed { $seed }, crank step { $step }°, lid { $lid }
account-complaint = complaint
account-cautions = cautions
account-time = time
account-time-ended = handed over at { $from }, ended at { $to } (min:s)
account-time-stopped = handed over at { $from }, stopped before its end at { $to } (min:s)
account-grade = grade
account-engine = engine
account-running = running at the end, { $rpm } rpm
account-turning = turning at the end, not running by itself
account-standing = not running at the end
account-idle = idle
account-no-idle = no warm idle to speak of
account-idle-is = { $rpm } rpm, { $against }, spread { $spread } rpm; manifold { $map } kPa, air { $air } g/s
account-idle-rest = throttle { $throttle }°, spark { $spark }°, lambda { $lambda }
account-trims = trims, bank { $bank }
account-trims-are = short { $short } %, long: idle { $air } g/s ({ $idle } %), part load { $part } %, high flow { $high } %
account-learned-value = learned value
account-learned-now = now
account-learned-default = default
account-learned-limits = limits
account-learned-by = last written by
account-limits = { $low } to { $high }
account-idle-air = idle air
account-gate-shut = shut: { $why }
account-not-looked = has not looked at its gates since power-up
account-may-learn = may learn: all { $gates } gates open
account-codes = codes
account-no-codes = none stored
account-code = { $code } { $says }: { $states }
account-lamp = lamp
account-measured = measured
account-reading = { $words }, at { $at }
account-job = job card
account-an-act = an act
account-hindered = hindered
account-hindered-is = { $what }, at { $at }: { $why }
account-model-note = model note
account-expectations = expectations: { $verdict }
account-met = met
account-not-met = NOT MET
account-expectation = { $measured }; wanted { $rule }; at { $at }
account-made-up = A simplified model of a made-up car. The vehicle maker's current procedure, workplace rules and the instructor always win.

## Two futures.

twin-title = Twin run: { $title } ({ $id })
twin-kind = Twin run: one car, two futures
twin-compared = What is compared
twin-lead = Both are the same car with the same hands. In one, *done*, everything is done. In the other, *left out*, the hand stays still at { $acts }; the time passes as if it had moved, and all the rest is done alike. They part at { $at } min:s.
twin-lead-never = Both are the same car with the same hands. What was to be left out, { $acts }, never fell due: both are the same.
twin-state-done = State at the end, done
twin-state-left-out = State at the end, left out
twin-numbers-heading = At the end of both
twin-head-done = Done
twin-head-left-out = Left out
twin-head-difference = Difference
twin-judged-heading = What was expected
twin-not-judged = not judged
twin-here-they-part = Here they part.
twin-logged-note = Times in minutes and seconds from where the job begins. On the traces a mark of both stands at the time of done.
twin-flag-left-out = { $flag } (left out)
twin-traces-heading = Both on the same traces
twin-key-rings = with rings: left out
twin-figure-speed = Engine speed
twin-figure-idle-air = Learned idle air
twin-figure-alike = { $figure }: the same in both
twin-done = done
twin-left-out = left out
twin-difference = difference
twin-at-the-end = at the end
twin-label = twin
twin-car-is = { $car }, seed { $seed }, lid { $lid }
twin-headline = left out: { $acts }; they part at { $at } (min:s)
twin-headline-never = left out: { $acts }, which never fell due: both are the same
twin-foot = * differs. A simplified model of a made-up car. The vehicle maker's current procedure, workplace rules and the instructor always win.
twin-no-trace = no trace is called `{ $name }`; traces are { $all }
twin-trace-is-truth = `{ $name }` is truth, and the lid is closed: --lid open shows it
twin-picture = { $title } ({ $id }): { $acts } done, and left out
twin-picture-key = With rings: left out. Thin: measured. Dashed: what the module believes or wants. Bold: true. A simplified model of a made-up car.
compared-engine-speed = engine speed at the end
compared-idle-mean = idle speed, mean
compared-idle-over = idle speed over its target
compared-idle-spread = idle speed, spread
compared-idle-map = manifold pressure at idle
compared-idle-air = metered air at idle
compared-idle-throttle = throttle at idle
compared-idle-spark = spark at idle
compared-lambda = lambda at idle, bank { $bank }
compared-short-trim = short-term trim, bank { $bank }
compared-learned = learned: { $name }
compared-true-deposit = true: deposit in the throttle
compared-true-charge = true: battery charge
compared-true-capacity = true: capacity that the battery has left
compared-true-water = true: water lost by the battery
compared-code = code { $code }
compared-codes = codes
compared-lamp = lamp
compared-gates = idle air, light: its gates
compared-not-looked = not looked at
compared-may-learn = may learn
compared-gates-shut = { $n ->
    [one] { $n } gate shut
   *[other] { $n } gates shut
}
compared-met = expectations met
compared-met-of = { $met } of { $all }

## What a class handed in.

handed-in-logbook = logbook
handed-in-trainee = trainee
handed-in-scenario = scenario
handed-in-seal = seal
handed-in-verdict = verdict
handed-in-minutes = min
handed-in-money = money
handed-in-met = met
handed-in-grade = grade
handed-in-line = line { $n }: { $reason }
handed-in-count = { $n } { $what }
handed-in-sum = { $files ->
    [one] { $files } file
   *[other] { $files } files
}: { $verdicts }. Seals: { $seals }.
handed-in-cannot-tell = Consistent says that these acts come to this. It cannot tell who did them.
seal-sealed = sealed
seal-forged = forged
seal-unsealed = unsealed
seal-not-checked = not checked
verdict-not-judged = not judged
