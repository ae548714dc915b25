# What the module decides, refuses and reports: learned values, gates, routines, codes.

## Why a request was refused: the condition, and the value that broke it.

refused-no-value = no value is called { $name }
refused-engine-turning = engine turning at { $rpm } rpm; key on, engine stopped
refused-battery-capacity = { $is } Ah; this module takes batteries of { $least } to { $most } Ah
refused-no-injector-codes = this module works without injector codes
refused-no-cylinder = this engine has { $of } cylinders, no cylinder { $cylinder }
refused-other-kind = a code of kind { $kind }; this module goes with kind { $takes }
refused-under-way = { $routine } is under way
refused-no-group = this module holds no { $group }
refused-supply-below = supply { $is } V; must be { $needs } V or more
refused-throttle-not-ready = throttle not ready; wait a second after key-on
refused-not-running = engine not running; must idle
refused-idle-speed = { $asked } rpm asked for; must be { $least } to { $most }
refused-not-idling = engine not idling; must idle
refused-not-parked = must stand in park or neutral
refused-no-short-pulse = this module has no short-pulse trim
refused-injector-codes-missing = injector codes missing; write them first
refused-idle-control-off = engine at { $rpm } rpm, idle control not in force
refused-coolant-below = coolant { $is } °C; must be { $needs } or more
refused-coolant-outside = coolant { $is } °C; must be { $low } to { $high }
refused-in-gear = in gear; must be in park or neutral
refused-load-on = a load is switched on; all must be off
refused-open-loop = mixture in open loop; wait for closed loop
refused-moving = car moving at { $speed } km/h; must stand
refused-code-stored = { $code } is stored; mend its cause first
refused-attempts-used-up = all { $of } attempts of this key cycle used up; key off, let it rest, find out why
refused-stop-unknown = closed stop not learned; learn it first
refused-electrical-load = electrical load { $is } A; must be { $most } A or less
refused-purge-flowing = purge flowing, valve at { $duty } %; wait until the canister gives no vapour
refused-code-matured = { $code } has matured since the last group reset; find its cause and reset first
# A scenario keeps the reason back.
withheld = a condition is not met

injector-code-length = a code has { $needs } characters ({ $given } given)
injector-code-character = no code holds the character { $character }
injector-code-check = the check characters do not fit the rest: some are wrong or swapped

## How a routine stands: what it waits for, why it ended without result.

routine-state-none = no routine was started
routine-state-running = { $routine } under way for { $seconds } s
routine-state-done = { $routine } done

waits-hold = hold { $low } to { $high } rpm for { $seconds } s
waits-let-go = let the pedal go now

failed-not-at-rest = idle air and speed did not come to rest in time, or a load was switched on
failed-at-limit = idle air stands at its limit; what it should be lies beyond: find out why
failed-stop-outside = the closed stop stands outside what may be learned
failed-left-idle = the engine left idle
failed-left-warm-idle = the engine left its warm idle
failed-cylinders-not-at-rest = the cylinders did not come to rest in time
failed-stopped = stopped on request
failed-not-parked = the car moves or is in gear
failed-engine-stopped = the engine stopped
failed-attempts-used-up = all { $of } attempts of this key cycle used up

thrown-pedal = pedal touched on the way down
thrown-lifted-late = pedal let go too late
thrown-load = a load was switched
thrown-few-cycles = only { $cycles ->
    [one] { $cycles } whole cycle
   *[other] { $cycles } whole cycles
} seen on the way down
thrown-disagrees = turns disagree by { $deg }° with the run-downs before
thrown-too-far = an edge would be off by { $deg }°: look at wheel and sensor
thrown-moving = the car moves or is in gear
thrown-brake = brake touched
thrown-rough-road = rough road
thrown-gear-change = the gear changed

## Who wrote a learned value.

written-by-nobody = nobody yet
written-by-works = works
written-by-ordinary-learning = ordinary learning
written-by-manual-sequence = manual sequence
written-by-service-routine = service routine
written-by-coast-downs = coast-downs
written-by-fired-refinement = fired refinement
written-by-group-reset = group reset
written-by-power-cut = power cut
written-by-code-clear = code clear
written-by-code-entered = code entered

## Gates: the condition with its number, open and shut.

gate-idling-open = idle control in force
gate-idling-shut = idle control is not in force
gate-warm-open = coolant { $now } °C, warm enough
gate-warm-hot = coolant { $now } °C, too hot
gate-warm-shut = coolant { $now } °C; must be { $limit } or more
gate-neutral-open = park or neutral
gate-neutral-shut = in gear; must be in park or neutral
gate-standing-open = car standing
gate-standing-shut = car moving at { $now } km/h; must stand
gate-no-load-open = nothing switched on
gate-no-load-shut = a load is switched on; all must be off
gate-loaded-open = a load is switched on
gate-loaded-shut = no load is switched on; one must be
gate-speed-error-open = speed within its window of { $limit } rpm, or window opened by a reset
gate-speed-error-new = speed within { $limit } rpm of target, not for long enough yet
gate-speed-error-over = speed { $now } rpm over target; must be within { $limit } and stay there
gate-speed-error-under = speed { $now } rpm under target; must be within { $limit } and stay there
gate-integrator-bounded-open = integrator { $now } g/s, away from its limit
gate-integrator-bounded-new = integrator { $now } g/s, not watched for long enough yet
gate-integrator-bounded-shut = integrator { $now } g/s, at its limit; must be within { $limit }
gate-stop-known-open = closed stop known
gate-stop-known-shut = closed stop not learned
gate-no-blocking-code-open = no code that blocks learning
gate-no-blocking-code-shut = { $code } is stored and blocks learning
gate-no-blocking-code-some = a code is stored and blocks learning
gate-in-cell-open = working in this cell
gate-in-cell-shut = not working in this cell
gate-closed-loop-open = closed loop
gate-closed-loop-shut = open loop
gate-steady-open = air flow steady
gate-steady-shut = air flow not steady
gate-no-purge-open = canister not being drawn from
gate-no-purge-shut = the vapour canister is being drawn from
gate-certain-open = known to { $now } %
gate-certain-shut = known to { $now } % only; must be { $limit } % or less
gate-asleep-open = module asleep
gate-asleep-shut = module awake; must sleep
gate-little-current-open = battery current { $now } A, little
gate-little-current-shut = battery current { $now } A; must be { $limit } A or less
gate-rested-open = rested for { $now } h
gate-rested-shut = rested for { $now } h; must be { $limit } h or more
gate-referenced-open = a rest has told the battery's charge
gate-referenced-shut = the battery's charge is not known: it takes a rest of { $limit } h
gate-charged-open = battery charged to { $now } %
gate-charged-shut = battery charged to { $now } %; must be { $limit } % or more
gate-battery-mild-open = battery at { $now } °C
gate-battery-mild-hot = battery at { $now } °C; must be { $limit } °C or less
gate-battery-mild-cold = battery at { $now } °C; must be { $limit } °C or more

no-stop-not-running = the engine does not run

## What the module decided.

notice-key-on = key on
notice-key-on-unsaved = key on again before the after-run had saved
notice-key-off = key off, after-run
notice-saved = values saved, module asleep
notice-engine-stopped = engine stopped with the key on
notice-sequence-aborted = manual sequence aborted in step { $step }; nothing written
notice-sequence-complete = manual sequence complete; idle air, light now { $value } g/s
notice-routine-started = { $routine } started
notice-learn-idle-done = { $routine } done: idle air and speed have come to rest
notice-learn-closed-stop-done = { $routine } done: the stop is where its sensor says
notice-learn-short-pulse-done = { $routine } done: what each body gives is known
notice-learn-wheel-done = { $routine } done: standard error { $error }°; saved when the after-run ends
notice-routine-failed = { $routine } failed: { $because }
notice-routine-refused = { $routine } refused: { $because }
notice-injector-code-refused = injector code for cylinder { $cylinder } refused: { $because }
notice-battery-refused = enter battery record refused: { $because }
notice-request-refused = request refused: { $because }
notice-code-pending = { $code } pending
notice-code-confirmed = { $code } confirmed
notice-codes-cleared = codes cleared
notice-group-reset = group { $group } reset
notice-idle-speed-asked = idle speed { $rpm } rpm asked for
notice-own-idle-speed = own idle speed again
notice-battery-entered = battery record entered: { $kind }, { $rated } Ah
notice-injector-code-written = injector code for cylinder { $cylinder } written: flow { $flow } %, dead time { $dead } µs
notice-wheel-suspect = wheel table suspect until it is learned again
notice-injector-cut = misfire that harms the catalyst: injector { $cylinder } cut until key-off
notice-injector-works = injector { $cylinder } works again
notice-wheel-learned = wheel table learned from coast-downs, standard error { $error }°; saved when the after-run ends
run-down-counts = run-down { $number } of { $of } counts
run-down-counts-again = run-down { $number } of { $of } counts; { $hold }
run-down-thrown-away = run-down thrown away: { $because }
run-down-thrown-away-again = run-down thrown away: { $because }; { $hold }
coast-down-counts = coast-down { $number } of { $of } counts
coast-down-thrown-away = coast-down thrown away: { $because }

## Few words beside a mark on a chart.

flag-sequence-aborted = manual sequence aborted in step { $step }
flag-sequence-complete = manual sequence complete
flag-routine-failed = { $routine } failed
