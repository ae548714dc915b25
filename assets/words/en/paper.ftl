# Debrief, twin page, job card, account on a terminal, pictures.

quantity = { $value } { $unit }

## Learned values: who wrote them.

written-at-works = at the factory
written-counted = the module, by counting charge
written-before = { $who }, before the car came in
written-earlier = { $who }, earlier
written-at = { $who }, at { $at }
history-when-before = before the car came in
history-when-at = at { $at }
history-never = never learned: default value
history-works = set at the factory
history-counted = counted by the module since the battery was registered
history-ordinary = last changed by normal learning, { $when }
history-reset = reset to default by a group reset, { $when }
history-power = lost in a power cut, { $when }
history-other = last written by { $who }, { $when }

## Codes, lamp, lid, idle.

state-pending = pending
state-confirmed = confirmed
state-permanent = permanent
state-healed = stored, no longer active
code-not-stored = not stored
lamp-off = off
lamp-on = on
lamp-flashing = flashing: reduce load
lid-open = shown
lid-closed = hidden
idle-over-target = { $off } above target { $target }
idle-under-target = { $off } below target { $target }
idle-on-target = on target { $target }
lambda-cold = sensor cold
lambda-air = air, as with fuel cut
live-no-result = no result yet
live-not-commanded = not commanded
lambda-two = { $a } and { $b }

## Expectations.

said-yes = yes
said-no = no
said-none = no value
line-hidden = hidden
line-hidden-why = visible when true values are shown
mark-met = ✓ met
mark-not-met = ✗ not met
verdict-none = none apply to this run
verdict-all =
    { $all ->
        [one] set up correctly, met
       *[other] set up correctly, all { $all } met
    }
verdict-all-acts =
    { $all ->
        [one] met
       *[other] all { $all } met
    }
expectations-scenario = scenario expectations (not marked)
expectations-acts = expectations of the action file (not marked)
verdict-some = { $met } of { $all } met
verdict-stopped = { $verdict }; run stopped early
path-gate-open = { $of }: condition "{ $gate }" met
path-of = { $of }: { $what }
path-code = code { $code } { $what }
path-unit = { $what } ({ $unit })
key-of-hidden = expectation of this job
key-of-mean = mean speed
key-of-sd = speed fluctuation
key-of-map = manifold absolute pressure
key-of-air = air flow
key-of-idle = idle
key-of-lamp = lamp
key-of-charge-lamp = charging lamp
key-of-hot-lamp = coolant temperature lamp
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
key-of-truth = true value
key-of-short = short-term
key-of-long = long-term
key-of-long-idle = long-term, idle
key-of-long-part = long-term, part load
key-of-long-high = long-term, high flow
key-of-engine-speed = engine speed
key-of-target = target
key-of-coolant = coolant
key-of-supply = supply
key-of-routine = routine
key-of-running = running
key-of-idling = idling
key-of-parts-bought = parts bought
key-of-money = cost
key-of-minutes = minutes
key-of-misfires = misfires
key-of-misfires-n = misfires { $n }
key-of-misfire = misfire
key-of-misfire-watched = misfire monitor active
key-of-watched = monitor active
key-of-readiness = readiness
key-of-complete = complete
key-of-fuel-system = fuel system
key-of-count = count
key-of-cylinders = cylinders
key-of-cylinder-n = cylinder { $n }
key-of-deposit = deposit
key-of-unmetered-leak = intake air leak
key-of-wheel-off = crankshaft variation error
key-of-idle-air-needed = extra idle air needed
key-of-closed-stop = throttle stop
key-of-air-by-pressure = calculated air
key-of-idle-pi = idle correction
key-of-idle-load = idle load air
key-of-charge-age = charging voltage, age
key-of-charge-base = charging voltage, base
key-of-charge-set = charging voltage target
key-of-throttle = throttle
key-of-purge = purge
key-of-canister = canister
key-of-rail = fuel rail pressure
key-of-battery = battery
key-of-kind = type
key-of-imep = mean effective pressure
key-of-exhausts = exhausts
key-of-back = back-pressure
key-of-catalyst = catalyst
key-of-tool = tool

## Lines of the logbook: who speaks.

who-says = trainee
who-hand = by hand
who-asks = scan tool
who-bench = bench
who-module = module
who-tool = reading
who-driver = driver
entry-hindered = not possible: { $why }
entry-shown = live data display: { $values }
entry-watched = live data display ended: { $values }
watched-most = { $what } from { $first } to { $last } (greatest { $most })
watched-one = { $what } from { $first } to { $last } (least { $least }, greatest { $most })
entry-model = limit of the model: { $what }
entry-timed-out = waited too long for { $condition }
row-not-done = { $what } (not possible: { $why })
row-answered = { $what } ({ $answer })
row-told = { $what }: { $told }

## What a hand did.

act-key-off = key off
act-key-on = key on
act-key-crank = engine cranked
act-pedal = pedal to { $pct } %
act-brake-on = brake pressed
act-brake-off = brake released
act-gear = gear to { $gear }
act-load-on = { $load } on
act-load-off = { $load } off
act-steering-on = steering turned to full lock, car stationary
act-steering-off = steering released
act-battery-clamp-on = battery connected
act-battery-clamp-off = battery disconnected
act-plugged-in = { $connector } connected
act-belt-on = belt fitted
act-belt-off = belt removed
act-fuel-cap-on = fuel filler cap fitted
act-fuel-cap-off = fuel filler cap removed
act-unplugged = { $connector } disconnected
act-throttle-cleaned = throttle body cleaned in place
act-leak-tight = hoses and gaskets sealed
act-leak-opened = leak of { $area } mm² opened
act-leak-something = work on hoses and gaskets
act-exhaust-tight = exhaust sealed
act-exhaust-opened = exhaust leak of { $area } mm² opened
act-exhaust-something = work on the exhaust
act-sensor-right = { $sensor } sensor and wiring repaired
act-sensor-ill = fault in { $sensor } sensor: { $ill }
act-sensor-something = work on a sensor or its wiring
act-injectors-swapped = injectors of cylinders { $a } and { $b } swapped
act-code-copied = code printed on injector { $body } entered for its cylinder
act-code-copied-wrong = code printed on injector { $body } entered for cylinder { $cylinder }
act-interrupter-in = misfire box fitted to coil { $n }, dropping { $pct } % of sparks
act-interrupter-out = misfire box removed from coil { $n }
act-refuelled = { $fuel } of fuel added
act-accessory-out = accessory removed
act-accessory-posts = { $amps } A accessory wired directly to the battery posts
act-accessory-behind = { $amps } A accessory wired through the current sensor
act-charger-off = battery charger removed
act-charger-posts = { $amps } A battery charger connected, both clamps on the battery posts
act-charger-earth = { $amps } A battery charger connected, negative clamp on the engine earth
act-rested = locked and parked for { $hours } h
act-driven-on = driven daily for { $days ->
    [one] { $days } day
   *[other] { $days } days
}: { $trips ->
    [one] { $trips } trip
   *[other] { $trips } trips
} a day, { $minutes } min each, { $pattern }, { $week ->
    [one] { $week } day
   *[other] { $week } days
} a week
act-held = held at { $rpm } rpm with { $torque } on rollers
act-driven = driven for { $minutes } min, pattern { $pattern }
act-watch-nothing = live data display switched off
act-watch = live data display: { $names }
act-waited = waited
act-fit = { $part } fitted
act-fit-done = { $part } replaced
act-fit-module = module replaced by a blank one
act-fit-cam-drive = camshaft drive fitted
act-fit-serial = serial { $serial }
ill-one = { $what } { $value }
part-one-sensor = { $sensor } sensor
measured-at = { $tool } at { $at }
measured-looked = visual check: { $at }
measured-round = { $tool } around the { $at }
measured-cylinder = { $tool }, cylinder { $n }

note-cautions = cautions read
note-cause = cause named: { $cause }
note-predicts = prediction for "{ $question }": { $answer }
note-words = note: { $words }
note-lid-opened = true values shown
note-lid-closed = true values hidden
note-forked = split into two runs
note-rewound = went back to a bookmark: { $seconds } s of work undone

## What the module was asked, and what it answered.

ask-codes = read codes
ask-clear-codes = cleared codes
ask-freeze-frame = read freeze frame of { $code }
ask-learned = read learned values
ask-live = read live values
ask-value = read { $name }
ask-readiness = read readiness
ask-write-code = entered injector code { $code } for cylinder { $cylinder }
ask-injector-code = read injector code of cylinder { $cylinder }
ask-enter-battery = registered battery: { $kind }, { $rated } Ah
ask-battery-record = read battery record
ask-own-idle = ended commanded idle speed
ask-idle = commanded idle speed { $rpm } rpm
ask-start = requested: { $routine }
ask-progress = read routine status
ask-stop = stopped the routine
ask-restart = restarted the module

answer-list = { $head }: { $items }
answer-ok = accepted
answer-refused = refused: { $because }
answer-silent = no answer: module asleep or without power
answer-no-code = no code stored
answer-codes = codes
answer-code = { $code } { $state }
answer-no-freeze-frame = no freeze frame stored with this code
answer-freeze-frame = freeze frame
answer-freeze-frame-is = { $rpm } rpm, coolant { $coolant }, manifold { $map } absolute, air { $air }, trims: short-term { $short } %, long-term { $long } %; fuel system: { $fuel }
answer-learned = learned values
answer-live = live values
answer-no-injector-code = no injector code stored
answer-injector-code = injector code { $code }
answer-battery = battery record: { $kind } { $rated } Ah, { $passed } of { $worn } Ah of charge counted
answer-value = value { $x }
answer-readiness = readiness
answer-all-complete = all monitors complete
answer-not-complete = not complete: { $monitors }

## Every page.

page-trainee = Trainee
page-worked-by = Action file
page-closing = What this page shows
page-closing-says = The screen shows reasoning, not practical skill. This page lists what was measured, read and done on a simplified model of a made-up car, and the results. It does not prove that anyone can do the work on a car: competence on a car must be shown on a car. Follow the vehicle maker’s current procedure, workplace rules and the instructor.
page-foot = Idlewright { $version }. Scenario { $scenario }, seed { $seed }, crank step { $step }°.
page-foot-open = True values are shown in bold.
sweep-foot-open = True values may be shown.
page-foot-closed = True values are hidden.
page-foot-state = Final state
page-foot-same = The same scenario, seed and actions give the same page.
fact-car = Car
fact-odometer = Odometer
fact-km = { $km } { $unit }
fact-handed-over = Car received at
fact-stopped = Stopped early at
fact-ended = Ended at
fact-lamp = Lamp
fact-lid = True values on this page

## Debrief.

debrief-page-title = Debrief: { $title } ({ $id })
debrief-kind = Debrief and job card
debrief-limits = Limits of the model reached
found-kept = { $n ->
    [1] One more is shown with true values only.
   *[other] { $n } more are shown with true values only.
}
found-verdict = { $whose }: { $verdict }.
found-result = Result
found-what = What and why
found-found = Found
found-wanted = Expected
found-at = Time, min:s
found-teaches = What this scenario teaches
compared-what = Reading
compared-before = Car received
compared-after = At the end
readings-heading = Readings
seen-none = none
seen-no-idle = not at warm idle
seen-idle-speed = Idle speed, mean of up to 30 s
seen-idle-against = { $rpm } rpm, { $against }
seen-spread = Idle speed fluctuation
seen-map = Manifold absolute pressure
seen-air = Air flow
seen-throttle = Throttle above learned stop
seen-spark = Ignition timing, before TDC
seen-lambda = Lambda
seen-short-trim = Short-term trim, bank { $bank }
seen-long-trim = Long-term trim at idle, bank { $bank }
seen-long-trim-is = { $air }, { $pct } %
seen-lamp = Lamp
seen-charge-lamp = Charging lamp
seen-hot-lamp = Coolant temperature lamp
seen-codes = Codes
seen-code = Code { $code }, { $says }
tools-heading = Workshop tool readings
tools-reading = at { $at }: { $words }
tools-note = Last reading of each tool. Every tool has its own error.
learned-heading = Learned values
learned-unread = not shown: the learned values were not read, and true values are hidden
learned-note = The ends of the scale are the limits, the notch is the default. The dashed bar runs from the default to the module's value now; the faint mark is the value when the car was received.
learned-note-truth = The solid mark below is the true value of the fitted parts.
learned-title = { $name } in { $unit }: now { $now }, before { $before }, default { $default }, limits { $low } to { $high }
learned-title-truth = { $told }, true { $truth }
learned-below = Before { $before }, default { $default }. { $history }.
ruler-unchanged = unchanged
ruler-before-now = before, now
ruler-now-before = now, before
ruler-now = now
ruler-before = before
ruler-parts = true: { $value }
gates-heading = Can the module learn now?
gates-not-looked = The module has not checked the conditions since power-up.
gates-others = The other learned values
gates-all-open = all conditions met
gates-of = { $of }: { $why }
gate-open = met
gate-shut = not met
air-heading = Idle air: sum of parts
air-not-running = The engine was not running at the end; these are the last values.
air-not-in-force = Idle control was not active at the end.
air-base = base
air-loads = loads
air-learned = learned
air-pi = idle correction
air-asked-for = total requested
air-metered = air flow
air-title = idle air: { $terms }, total { $all }
air-term = { $name } { $flow }
air-corrections = learned and idle correction
air-note = Dashed: what the module calculates at the end of the run. The idle correction is what idle control adds at the moment; it also makes up for wrongly learned values, up to its limit. Thin outline: the air flow that the module measured or, without a MAF sensor, calculated from manifold pressure.
truth-heading = True values at the end
truth-deposit = Throttle deposit
truth-idle-air = Extra idle air needed
truth-closed-stop = Closed throttle stop
truth-leak = Intake air leak
truth-leak-is = { $area } mm², { $flow }
truth-air-meter = MAF sensor
truth-coolant = Coolant
truth-cylinders = Cylinders at the end
truth-cylinder-number = Cylinder
truth-cylinder-lambda = Lambda
truth-cylinder-pressure = Mean effective pressure, { $unit }
truth-cylinder-scatter = Pressure scatter, %
truth-cylinder-residual = Residual gas, %
truth-cylinder-misfires = Misfires
truth-parts = Fitted parts at the end
truth-part-part = Part
truth-part-serial = Serial
truth-part-is = True condition

## The logbook on a page.

logged-heading = Work done, and decisions of the module
logged-earlier = Before the car came in: { $lines ->
    [one] { $lines } line
   *[other] { $lines } lines
} of the logbook, from { $from } to { $to } earlier
logged-before = { $span } before
logged-up-to = Until the car was received at { $at }
logged-after = After the car was received
logged-nothing = No work was done, and the module decided nothing.
logged-note = Times from the start of the job, in minutes and seconds, or with hours and days. The numbers match the markers on the traces.
logged-mark = Marker
logged-when = When
logged-who = Who
logged-what = What
logged-told = Result
logged-read-heading = Read from the module
span-seconds = { $n } s
span-minutes = { $n } min
span-hours = { $n } h

## Job card.

card-heading = Job card
card-act = Action
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

grade-heading = Marks
grade-closed = Passed: { $points } of { $of } marks, { $pct } %
grade-open = Not passed, work incomplete: { $points } of { $of } marks, { $pct } %
grade-verdict = { $sum }.
grade-short-closed = ✓ { $pct } %
grade-short-open = ✗ { $pct } %
grade-row = { $points } of { $of } { $says }
grade-row-lost = { $row }; not met: { $lost }
grade-predicted = "{ $question }" predicted { $said }; result { $came }
grade-never-asked = "{ $question }" answered, but the question never came up: the step that brings it up was not done, or was refused.
grade-said-nothing = no answer
grade-not-seen = not reached
grade-rewound = { $times ->
    [one] The work went back to a bookmark once.
   *[other] The work went back to a bookmark { $times } times.
}
grade-lid-opened = True values were shown during the work.
grade-points = Marks
grade-task = Task
grade-what = Marked item, and findings
grade-points-of = { $points } of { $of }
grade-closes = required to pass
grade-nothing-closes = This scenario has no item that is required to pass.
stated-heading = Causes named
predicted-heading = Predictions and results
predicted-question = Question
predicted-said = Predicted
predicted-came = Result
predicted-result = Verdict
predicted-put = asked at { $at }. { $why }
predicted-no-answer = no answer before the result
predicted-ended-before = Run ended before the result
predicted-alone = after { $after } min, with nothing else done
predicted-looked = at { $at }
predicted-right = ✓ correct
predicted-wrong = ✗ wrong
moments-heading = Module's values and true values at key moments
moments-note = Dashed: what the module has stored. Bold: the true value. Taken just before each repair and each relearn; values that were right throughout are left out.
moments-before = Before
moments-at = Time, min:s
moments-engine = Engine, rpm
moments-hand-over = car received
moments-end = end
moments-learned = { $name }, { $unit }
moments-wheel = Crankshaft variation, largest sector, °
path-heading = Model solution
path-to-end = The model solution takes { $work }. Each car differs slightly, and another order can be just as good.

## Charts.

key-belief = dashed: module's value or target
key-measured = thin line: measured
key-truth = bold: true
key-marks = numbered markers above: actions and decisions
traces-heading = Traces
traces-none = Nothing was recorded.
scale-days = days
axis-rest = at rest for { $time }, cut short here
scale-minutes = min:s
flag-hand-over = car received
flag-they-part = runs differ from here
figure-speed = Engine speed: target and measured
figure-idle-air = Idle air: learned value and controller
figure-air = Manifold pressure and air
figure-fuel = Fuel trims and lambda, bank 1
figure-charging = Charging: voltage commanded and measured, battery current, state of charge
panel-idle-air = idle air
panel-air = air
panel-trims = fuel trims
panel-charging = voltage
panel-charge = state of charge
panel-unit = { $what }, { $unit }
panel-how = { $what }, { $how }
panel-cut = limited to 0.6 to 1.4
line-measured = measured
line-target = target
line-commanded = commanded
line-by-the-module = by the module
line-true = true
line-learned = learned
line-parts-need = needed
line-leak = leak
line-short-term = short-term
line-long-term = long-term
line-cylinder-1 = cylinder 1
numbers-heading = Values at some moments
numbers-of = { $of }, { $line }
numbers-of-unit = { $of }, { $line } ({ $unit })
numbers-no-reading = no reading
numbers-over = over

curves-heading = { $car }: how well misfires are detected
curves-watched = { $engines ->
    [one] { $engines } engine
   *[other] { $engines } engines
}, each with its own parts and reluctor wheel; { $turns } revolutions observed for false counts on each engine at each point, a quarter as many for misfires.
curves-key = Solid: crankshaft variation learned. Dashed: not learned. Round: low load. Square: high load. A simplified model of a made-up car.
curves-found = Real misfires detected, % (one spark in { $one_in } dropped)
curves-wrong = False counts per 1000 revolutions of a healthy engine
curves-none-seen = none
curves-speed = engine speed, rpm
curves-learned-low = learned, low load
curves-learned-high = learned, high load
curves-not-learned-low = not learned, low load
curves-not-learned-high = not learned, high load

## Account on a terminal. Labels have up to 13 letters.

account-trainee = trainee
account-worked-by = action file
account-car = car
account-car-is = { $car }, { $km } { $unit }; seed { $seed }, crank step { $step }°, true values { $lid }
account-complaint = complaint
account-time = time
account-time-ended = car received at { $from }, ended at { $to } (simulated time); the time on the job card is what is marked
account-time-stopped = car received at { $from }, stopped early at { $to } (simulated time)
account-grade = marks
account-engine = engine
account-running = running at the end, { $rpm } rpm
account-turning = turning at the end, but not running
account-standing = not running at the end
account-idle = idle
account-no-idle = not at warm idle
account-idle-is = { $rpm } rpm, { $against }, fluctuation { $spread } rpm; manifold { $map } absolute, air { $air }
account-idle-rest = throttle { $throttle }°, ignition { $spark }°, lambda { $lambda }
account-trims = trims, bank { $bank }
account-trims-are = short-term { $short } %, long-term: idle { $air } ({ $idle } %), part load { $part } %, high flow { $high } %
account-learned-values = learned
account-learned-value = learned value
account-learned-now = now
account-learned-default = default
account-learned-limits = limits
account-learned-by = last written by
account-limits = { $low } to { $high }
account-idle-air = idle air
account-gate-shut = not met: { $why }
account-not-looked = conditions not checked since power-up
account-may-learn = can learn: all { $gates } conditions met
account-codes = codes
account-no-codes = none
account-code = { $code } { $says }: { $states }
account-lamp = lamp
account-lamp-also = { $lamp } on
account-measured = measured
account-reading = { $words }, at { $at }
account-job = job card
account-an-act = an action
account-hindered = not possible
account-hindered-is = { $what }, at { $at }: { $why }
account-refused = refused
account-model-note = model limit
account-expectations = { $whose }: { $verdict }
account-met = met
account-not-met = NOT MET
account-expectation = { $measured }; expected { $rule }; at { $at }
account-made-up = A simplified model of a made-up car. Follow the vehicle maker's current procedure, workplace rules and the instructor.

## Two futures.

twin-title = Twin run: { $title } ({ $id })
twin-kind = Twin run: one car, two runs
twin-compared = What is compared
twin-lead = Both runs use the same car and the same actions. In *done*, everything is done. In *left out*, { $acts } is not done; the time it takes still passes and everything else is done as before. The runs differ from { $at } on.
twin-lead-never = Both runs use the same car and the same actions. The action to leave out, { $acts }, was never due: both runs are the same.
twin-state-done = Final state, done
twin-state-left-out = Final state, left out
twin-numbers-heading = Values at the end of both runs
twin-head-done = Done
twin-head-left-out = Left out
twin-head-difference = Difference
twin-judged-heading = Expectations
twin-not-judged = not checked
twin-here-they-part = The runs differ from here.
twin-logged-note = Times from the start of the job, in minutes and seconds, or with hours and days. Markers on the traces that belong to both runs stand at the time of *done*.
twin-flag-left-out = { $flag } (left out)
twin-traces-heading = Traces of both runs
twin-key-rings = with circles: left out
twin-figure-speed = Engine speed
twin-figure-idle-air = Learned idle air
twin-figure-alike = { $figure }: the same in both
twin-done = done
twin-left-out = left out
twin-difference = difference
twin-at-the-end = at the end
twin-label = twin
twin-car-is = { $car }, seed { $seed }, true values { $lid }
twin-headline = left out: { $acts }; the runs differ from { $at } on
twin-headline-never = left out: { $acts }, which was never due: both runs are the same
twin-met-says = “Expectations met” counts what the files expect, and also every step that waited in vain for its condition. So the two futures can have different totals.
twin-foot = * differs. A simplified model of a made-up car. Follow the vehicle maker's current procedure, workplace rules and the instructor.
twin-no-trace = there is no trace `{ $name }`; traces: { $all }
twin-trace-is-truth = `{ $name }` is a true value, and true values are hidden: --lid open shows them
twin-picture = { $title } ({ $id }): { $acts } done and left out
twin-picture-key = With circles: left out. Thin: measured. Dashed: module's value or target. Bold: true. A simplified model of a made-up car.
compared-engine-speed = engine speed at the end
compared-idle-mean = idle speed, mean
compared-idle-over = idle speed above target
compared-idle-spread = idle speed fluctuation
compared-idle-map = manifold absolute pressure at idle
compared-idle-air = air flow at idle
compared-idle-throttle = throttle at idle
compared-idle-spark = ignition timing at idle
compared-lambda = lambda at idle, bank { $bank }
compared-short-trim = short-term trim, bank { $bank }
compared-learned = learned: { $name }
compared-true-deposit = true: throttle deposit
compared-true-charge = true: battery charge
compared-true-capacity = true: battery capacity left
compared-true-water = true: battery water lost
compared-code = code { $code }
compared-codes = codes
compared-lamp = lamp
compared-gates = idle air, no load: conditions
compared-not-looked = not checked
compared-may-learn = may learn
compared-gates-shut = { $n ->
    [one] { $n } condition not met
   *[other] { $n } conditions not met
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
handed-in-money = cost
handed-in-met = met
handed-in-grade = grade
handed-in-line = line { $n }: { $reason }
handed-in-count = { $n } { $what }
handed-in-sum = { $files ->
    [one] { $files } file
   *[other] { $files } files
}: { $verdicts }. Seals: { $seals }.
handed-in-missing = { $n ->
    [one] { $n } trainee
   *[other] { $n } trainees
} on the list handed in nothing.
handed-in-none = No logbook was handed in.
handed-in-cannot-tell = "Consistent" means that the replay gives the same result. It cannot show who did the work.
seal-sealed = sealed
seal-forged = forged
seal-unsealed = unsealed
seal-not-checked = not checked
verdict-not-judged = not judged
verdict-not-handed-in = not handed in

## What would have differed without a step

without-idle = The engine would idle at { $without } rpm instead of { $done } rpm (target { $target } rpm).
without-no-idle = The engine would not idle at the end; with the step it idles at { $done } rpm.
without-idles = The engine would idle at the end, at { $without } rpm; with the step it does not.
without-trims = Fuel trim at idle, bank { $bank }, short-term and long-term together: { $without } % instead of { $done } %.
without-code = Code { $code } ({ $says }): { $without }; with the step { $done }.
without-lamp = MIL { $without }; with the step { $done }.
without-hindered = { $n ->
    [one] One later step could then not be done.
   *[other] { $n } later steps could then not be done.
}
without-whole = Nothing on the car would be left wrong; with the step something is.
without-wrong = Left wrong then, and right with the step: { $wrong }.
without-other-wrong = Left wrong: { $wrong }. With the step: { $done }.
without-not-whole = Something on the car would be left wrong that is right with the step. Press “Show what was wrong” first to see what.
without-not-closed = The car would be in order, but the job would not be finished.
without-same = Nothing that matters would have differed: idle speed within { $rpm } rpm, trims within { $pct } %, the same codes.

## Days on which the car was driven on or stood

days-heading = Day by day
days-day = Day
days-spent = Use
days-ran = Engine ran, min
days-starts = Starts
days-distance = Distance
days-charge = Charge
days-idle-air = Learned idle air
days-trims = Trims, short/long
days-codes = New codes
days-none = –
days-driven = driven
days-carried = driven, electrics only
days-stood = stood
days-stranded = left standing
days-charge-and-true = { $charge }, true { $truth }
days-charge-true = true { $truth }
days-trims-are = { $short } / { $long } %
days-note = The table lists the time in which nobody works on the car; the logbook tells what was done between. Charge (as the module counts it; with the battery's true charge beside it if true values are shown), learned idle air and trims are those at the end of the day, or the last the module gave. Running time and distance are accurate to about a minute for each trip. On days with electrics only, battery and charging are simulated and nothing is learned.

## A sweep: one scenario over many runs.

sweep-kind-of-page = Sweep
sweep-title = { $id }: { $title }
sweep-sum = { $runs } runs: { $points ->
    [one] seeds { $seed } to { $last }
   *[other] { $points } combinations of values, each with seeds { $seed } to { $last }
  }
sweep-at = { $path } = { $value }
sweep-percent = { $p } %
sweep-all = all expectations met
sweep-points = marks (%)
sweep-met = { $met } of { $of } ({ $pct } %)
sweep-head-what = what
sweep-head-numbers = runs with a number
sweep-stopped = engine stopped in { $runs }
sweep-head-met = runs that met it
sweep-overview = Overview
sweep-range = { $from } to { $to }, { $n } values
sweep-share = share of runs at or below the value
sweep-note-bands = The line is the median of the seeds at each value. Half of them lie in the darker band, nine in ten in the lighter one.
sweep-note-shares = The line rises by each run at its value. Half of the runs lie in the darker band, nine in ten in the lighter one; the dotted line is the median.
sweep-note-percentiles = With n runs in ascending order, counted from 0, the percentile p is the value at place (n − 1) · p / 100, linear between neighbours. A run in which a value was not measured is left out of its row.
sweep-more-rows = { $rows } of { $points } rows; all of them are in sweep.csv.
sweep-foot = Idlewright { $version }. The same version, files and seeds give the same page on every machine.
