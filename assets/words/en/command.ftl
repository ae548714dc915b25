### The command line: help, progress, what commands print and what is wrong with what was given.

## The application room: what is wrong with files and attempts

app-more-mistakes =
    { $left ->
        [one] and one more mistake
       *[other] and { $left } more mistakes
    }
app-did-you-mean = ; did you mean "{ $word }"?
app-stopped = stopped
app-no-such-file = there is no such file
app-not-a-file = it is not a file
app-not-utf8 = it is not UTF-8 text
# What kind of file it is to be is one of: text, ticket, key, trainees, logbook.
app-cannot-read = { $sort ->
    [ticket] cannot read a ticket `{ $file }`: { $why }
    [key] cannot read a key `{ $file }`: { $why }
    [trainees] cannot read a list of trainees `{ $file }`: { $why }
   *[text] cannot read `{ $file }`: { $why }
  }
app-nothing-ships = there is no file `{ $name }`, and nothing of that name ships
app-share = { $given } is not a share of the files: K/N is, such as 3/16
app-no-share = this is not what verify prints for a share: --shard K/N --json does
app-share-version = another version of the program judged this share
app-share-differs = this share is of other files, or of another number of shares
app-share-twice = a file stands in two shares: the same share was given twice
app-share-missing = a share is missing: { $rows } of { $files } files were judged
app-too-large = { $sort ->
    [ticket] a ticket is at most 1 MiB long
    [key] a key is at most 1 MiB long
    [trainees] a list of trainees is at most 1 MiB long
    [logbook] a logbook is at most 64 MiB long
   *[text] a scenario file is at most 1 MiB long
  }
app-not-text = { $sort ->
    [ticket] a ticket must be text in UTF-8
    [trainees] a list of trainees must be text in UTF-8
   *[text] a file must be text in UTF-8
  }
app-after-the-end = { $what } is after the end of the run, run_s = { $end }
app-act-at = action `{ $act }` at { $at } s
app-expectation-at = the expectation at { $at } s
app-names-what-differs = `{ $name }` differs from trainee to trainee: an action file may use it only with --lid open
app-alone = { $why } (its scenario was not found, so it could not be checked against it: name it first, check JOB FILE)
app-sound-written = { $silent ->
    [yes] { $file }: { $long } s, silent: the engine did not turn
   *[no] { $file }: { $long } s of the exhaust. Turn the volume down before you play it, above all with headphones
}
app-nothing-heard = no sound was written, since nothing of that stretch was heard: the run ended { $ends } s after the car was received, and time in which nobody is at the car is left out
app-sound-not-made = the sound could not be put into a file: { $why }
app-not-kept = the car's history could not be stored in `{ $folder }`: { $why }; it is simulated again each time
app-trainee-twice = this trainee is already on line { $line }
app-too-many-trainees = there must be no more than { $most } trainees
app-trainee-is-a-key = this looks like a key, not like the name of a trainee
app-no-trainee = there is no trainee in it

# Marks of a desk
view-mark-hand-over = car received
view-mark-slipped-in = fault applied

# Logbooks run again
app-no-logbook = this is not a logbook: { $why }
app-is-no-logbook = not a logbook: { $why }
app-cannot-be-read = cannot be read: { $why }
app-takes-too-long = the replay takes longer than { $minutes } minutes
app-not-reached = the replay did not get to this line
app-program-failed = the program failed while replaying this: please report it
app-expected-found = { $why } (expected { $expected }; found { $found })
app-lid-was-open = true values were shown
app-same-attempt = the same attempt as { $file }
app-solution-acts = same actions in the same order as the model solution
app-not-in-list = this trainee is not on the list
app-same-acts = same actions in the same order as { $file }
app-same-lines = same lines as { $file }, under another header
app-named-twice = given twice

# Sweeps: what is wrong with what is to be varied, told or put together
sweep-over = { $given } is not a range: write PATH=FROM:TO:COUNT, for example setup.unmetered_leak_mm2=0:8:9, or PATH=A,B,C; 2 to { $most } different values
sweep-over-wrong = --over { $given }: { $why }
sweep-over-twice = --over names { $path } twice
sweep-over-lid = --over { $path }: varying a value shows what the scenario hides, so add --lid open
sweep-axes = --over may be given at most { $most } times
sweep-seed = { $path } cannot be varied: --runs takes the seeds, from --seed on
sweep-no-signal = there is no signal `{ $name }`: name a column of trace.csv, or the path of a number, as in an expectation
sweep-signal-lid = `{ $name }` is a true value: only --lid open shows it
sweep-points-most = { $points } combinations of values were asked for; there may be { $most }
sweep-runs = --runs must be from 1 to { $most }, and no seed may go past the largest
sweep-cells = { $runs } runs would give { $cells } numbers; at most { $most } are kept: take fewer runs or values
sweep-earlier = `{ $file }` holds another sweep or another share and was not changed: give `--out` another folder
sweep-no-part = this is not what sweep writes: give a folder that holds sweep.json, or that file
sweep-part-version = another version of the program made this part
sweep-part-differs = this part is of another sweep, or of another number of shares
sweep-part-twice = run { $run } stands in this part and in an earlier one: was the same share given twice?
sweep-part-missing = { $runs } of { $all } runs are missing, from the shares { $shares }: finish each of them with its own --out, then merge again

## Files

file-no-output = cannot write to standard output: { $why }
file-cannot-write = cannot write `{ $file }`: { $why }
file-cannot-make-folder = cannot make folder `{ $folder }`: { $why }
file-cannot-write-into = cannot write into folder `{ $folder }`: { $why }
file-cannot-write-folder = cannot write folder `{ $folder }`: { $why }
file-is-a-folder = it is a folder
file-not-ordinary = it is no ordinary file
file-read-only = it is read-only
file-no-name = not a file name
file-earlier = `{ $file }` is the logbook of an earlier run and was not changed: give `--out` another folder, or `--force` to write over it
file-is-there = `{ $file }` already exists and was not changed
file-is-there-force = `{ $file }` already exists and was not changed: give another name, or `--force` to write over it
file-key-is-there = `{ $file }` already exists; a key is never overwritten

## Languages

lang-unknown = `{ $asked }` is not a shipped language (en, en-x-pseudo), nor a file or folder of messages
lang-no-tag = the name of the file or folder must be a language tag, such as de or pt-BR (`{ $tag }` is not)
lang-syntax = this is not a valid message: { $why }
lang-twice = the message `{ $id }` occurs twice
lang-cannot-read = cannot read the language `{ $file }`: { $why }
lang-empty-folder = there are no *.ftl files in it
lang-too-large = it is larger than 1 MiB

## Progress

progress-earlier-life = simulating the car's history: { $share } %, { $spent } s so far
progress-running = { $at } of { $end } simulated, { $pace } times real time, { $left } s left
progress-days = day { $at } of { $end }, { $share } %: { $what }; { $spent } s so far

sweep-progress = { $done } of { $all } runs
sweep-spent = { $runs } runs simulated in { $wall } s on { $threads ->
    [one] one thread
   *[other] { $threads } threads
  }
sweep-part = { $done } of { $of } runs of share { $share }/{ $shares }; { $all } runs in all

## Arguments

usage-more = For more information, try `idlewright --help`.
usage-unknown-argument = unknown argument `{ $arg }`
usage-unknown-command = unknown command `{ $command }`
usage-value-missing = `{ $arg }` needs a value
usage-value = `{ $value }` is not a valid value for `{ $arg }`
usage-value-of = `{ $value }` is not a valid value for `{ $arg }`; valid: { $valid }
usage-conflict = `{ $arg }` cannot be used with `{ $other }`
usage-missing = required but not given: { $args }
usage-count = wrong number of values for `{ $arg }`
usage-step-deg = --step-deg must be 2, 1 or 0.5 ({ $given } given)
usage-sound-from = --sound-from must be 0 or more, in seconds after the car is received ({ $given } given)
usage-sound-for = --sound-for must be more than 0 and at most { $most } seconds ({ $given } given)
usage-seconds = --seconds must be from 1 to 1000000 ({ $given } given)
usage-after = --after must be from 0 to 86400 ({ $given } given)
usage-picture-png = --picture must name a .png file (`{ $file }` given)
usage-class-seed-alone = --class-seed needs --trainee or --variants
usage-curves = --wheels must be from 1 to 10000, --turns from 200 to 1000000
usage-seal-needs = seal needs a scenario, a class seed, trainees, a key and a folder

## What commands print

check-scenario = scenario { $id }, { $acts } actions, { $expectations } expectations: valid
check-actions = action file { $id } for scenario { $scenario }, { $acts } actions, { $expectations } expectations: valid
check-answers = answers for scenario { $scenario }: valid
check-answers-alone = answers: valid in form; to check them against their job too, name it first: check JOB FILE
check-rubric = rubric for scenario { $scenario }: valid
check-rubric-alone = rubric: valid in form, and all that its rows name can be done in some job; to check it against a job too, name it first: check JOB FILE
check-car = car { $id }: valid
check-actions-alone = action file { $id }, { $acts } actions, { $expectations } expectations: valid in form; to check it against its job too, name it first: check JOB FILE
check-cautions-not-named = the scenario does not name these cautions of its actions: { $cautions }
check-trainees = { $checked }, also for { $trainees } trainees of class seed { $seed }
check-of-trainee = { $why } (variant of trainee { $trainee }, class seed { $seed })
solve-of-trainee = { $scenario }, trainee { $trainee }
solve-alone-met = left alone, the car shows the fault as expected
solve-alone = left alone, the car does not show the fault as expected: { $missed }
solve-no-lesson = not a lesson: { $way } meets { $met } of { $of } expectations, { $minutes } min
solve-points = { $points } of { $of } marks
solve-model = the model solution
solve-solution = { $closes ->
    [yes] { $way } passes: { $points }, { $minutes } min, { $money } { $currency }; { $met } of { $of } expectations met
   *[no] { $way } does not pass: { $points }, { $minutes } min, { $money } { $currency }; { $met } of { $of } expectations met
  }
solve-mistaken = question { $question }: answered { $said }, outcome { $came }
solve-no-solution = { $scenario } has no model solution: write { $file }, or name a file with --actions
solve-swapped = { $closes ->
    [yes] replacing every part passes: { $points }, { $parts } good parts, { $money } { $currency }
   *[no] replacing every part does not pass: { $points }, { $parts } good parts, { $money } { $currency }
  }
solve-trap = { $closes ->
    [yes] trap { $number } passes: { $points }
   *[no] trap { $number } does not pass: { $points }
  }

verdict-consistent = consistent
verdict-altered = altered
verdict-other-version = other version
replay-not-at-hand = logbook of scenario { $scenario }: { $why }
replay-line = line { $line }: { $why }
replay-expected = expected
replay-found = found
replay-entry = { $at } { $who }: { $what }
replay-nothing-written = Nothing was saved.
replay-run = { $lid ->
    [open] scenario { $scenario }, seed { $seed }, true values shown, { $simulated } s simulated; { $met } of { $all } expectations met
   *[closed] scenario { $scenario }, seed { $seed }, true values hidden, { $simulated } s simulated; { $met } of { $all } expectations met
  }
replay-run-worked = { $lid ->
    [open] scenario { $scenario }, actions { $actions }, seed { $seed }, true values shown, { $simulated } s simulated; { $met } of { $all } expectations met
   *[closed] scenario { $scenario }, actions { $actions }, seed { $seed }, true values hidden, { $simulated } s simulated; { $met } of { $all } expectations met
  }
replay-cannot-tell-who = Replay gives the same result. It cannot show who did the work.

verify-no-seal-fits = No seal fits this key. Is it the key that the tickets were sealed with?
verify-spent = { $logbooks ->
    [one] { $logbooks } logbook
   *[other] { $logbooks } logbooks
} replayed in { $wall } s on { $threads } threads; processor time: { $rebuild } s for car histories that were not stored, { $rest } s for the rest
verify-progress = { $done } of { $all } replayed
verify-no-such-file = there is no such file
verify-cannot-read-folder = cannot read this folder: { $why }
verify-too-deep = not looked into: more than { $most } folders deep
verify-empty-folder = there are no *.jsonl files in this folder or below it

seal-new-key = { $file }: new key. Anybody who has it can seal tickets: keep it secret.
seal-done = { $tickets } tickets in { $folder }
seal-another-ticket = cannot write `{ $file }`: a different ticket is already there; give an empty folder
seal-no-randomness = the system provides no random numbers for a key: { $why }

new-from-needs-folder = --from copies several files: give a folder, not a .toml file
printed-job-car = { $car }, level { $level }
printed-job-complaint = The customer says: "{ $complaint }"
printed-job-unmarked = This job is not marked: it has no causes to choose from and no questions.
printed-job-causes = Possible causes (in a file: cause = "ID"):
printed-job-questions = Questions, asked during the job (in a file: predict = "ID", answer = …):
printed-job-asked-before = comes up before: { $action }
printed-job-asked-at-hand-over = comes up at hand-over
printed-job-answer-number = answer: a number in { $unit }
printed-job-answer-direction = answer: up, down or same
printed-job-answer-choice = answer: { $choices }
printed-job-minutes = Target time: { $minutes } min
printed-job-money = Target cost: { $money } cost units
new-done = { $file }: a scenario to start from; run it with `idlewright run { $file } --lid open`
list-path = A path through the scenarios, from easy to hard:
list-after = after { $names }
list-scenarios = Shipped scenarios; run one with `idlewright run NAME`:
family-healthy = Healthy
family-idle-air = Idle air
family-fuel-trims = Fuel trims
family-injectors = Injectors and cylinders
family-crankshaft = Crankshaft and misfire
family-battery = Battery and charging
list-level = level { $level }
list-words = `idlewright words WORD` explains a word.
list-no-word = `{ $word }` is not in the glossary
list-also = also: { $words }
list-see = See { $words }.

calibrate-by = result of `idlewright calibrate --car { $car } --seed { $seed } --turns { $turns }`:
calibrate-columns = healthy firings and misfires, mean and standard deviation of the index, 1/s²
calibrate-point = { $rpm } rpm { $kpa } kPa: healthy { $healthy } ± { $healthysd }, misfire { $missed } ± { $missedsd }, limit { $limit } ({ $distance } standard deviations)
curves-no-folder = there is no folder `{ $folder }` for the picture
curves-progress = { $done } of { $all } engines
curves-title = { $car }: { $engines } engines, { $turns } revolutions each; real misfires detected on the right cylinder, %
curves-learned = crankshaft variation learned
curves-not-learned = not learned
curves-false = false per 1000
curves-short-learned = learned
curves-short-not = not
curves-all = all
curves-not-held = ({ $engines } could not be held)
speed-car = { $car }, { $cylinders } cylinders, step { $step }°
speed-idle = warm idle
speed-mixed = mixed driving
speed-step = one cylinder step
speed-times = { $x } times real time on one core
speed-ns = { $x } ns

version-physics = physics { $hash }
version-sources = sources { $hash }
version-build = build { $profile }, { $target }
version-commit = , commit { $commit }

window-not-built = this program was built without one
window-not-there = This program has no window. The first scenario runs without it; see `idlewright --help`.
window-cannot-open = The window cannot be opened: { $why }.
    Everything works without it: `idlewright run { $scenario }{ $variant }` runs this scenario; see also `idlewright --help`.
window-page-instead = With pictures and buttons it also works in a browser, here or on any device on the network:
    `idlewright class my-class --lesson { $scenario }` opens a class and prints the addresses of its pages.
window-written = Saved: { $files }

## Help: help-COMMAND, help-COMMAND-ARGUMENT, help-any-ARGUMENT

help-usage = Usage:
help-commands = Commands
help-arguments = Arguments
help-options = Options
help-after =
    A simplified model of made-up cars, not a reference procedure for a real one. Follow the vehicle maker's
    current procedure, workplace rules and the instructor.

    Exit codes: 0 expectations met, 1 not met, 2 bad input, 3 no display for the window, 4 file
    error, 5 logbook altered or from another version, 130 stopped.
help-any-help = Show help
help-any-version = Show version (-V), and with it physics, sources and build (--version)
help-any-lang = Language: en, en-x-pseudo, or a Fluent file or folder of *.ftl files; default: IDLEWRIGHT_LANG
help-any-file = Scenario file, or its folder, or the name of a shipped one (healthy-idle, idles-high ...)
help-any-scenario = Scenario file, or its folder, or the name of a shipped one (healthy-idle, idles-high ...)
help-any-actions = What a trainee does after receiving the car: an action file, or the name of a shipped one
help-any-seed = Another seed: other parts of the same types
help-any-class-seed = The class's seed: with --trainee, each trainee gets a different variant
help-any-trainee = The trainee: a pseudonym or bench number, 1 to 64 characters
help-any-ticket = A ticket sealed by the instructor: gives class seed and trainee
help-any-rubric = File that changes the marking scheme: points, task codes, rows of your own
help-any-json = Print a JSON object instead of the table
help-any-lid = Show true values beside the module's: open (shown) or closed (hidden)
help-any-no-cache = Simulate the car's history again; do not use or store the result
help-any-subcommand = The command

help-idlewright = A training bench for the values that an engine module learns.
help-help = Show this help, or the help of a command
help-window = Open the window on a scenario (default: the first one)
help-window-picture = Save a picture of the window and exit
help-window-after = With --picture: simulated seconds after the car is received
help-window-open-lid = With --picture: with true values shown
help-window-show = With --picture: main view: engine, traces, wheel or cylinders
help-window-night = With --picture: use the dark theme
help-window-screen = Keep writing what is on screen to a file (words, positions, focus, time), for scripts
help-window-frames = Draw this many frames of the idling car as fast as possible, report the speed and exit
help-run = Run a scenario and print the result
help-run-step-deg = Crank step in degrees: 2, 1 or 0.5
help-run-answers = The trainee's answers for this run: cautions, cause, predictions
help-run-out = Folder for trace.csv, logbook.jsonl, debrief.html, debrief.json and gradebook.csv
help-run-force = Write over the results of an earlier run in that folder
help-run-sound = Write what is heard at the tailpipe to this WAV file; turn the volume down before you play it
help-run-sound-from = With --sound: begin this many seconds after the car is received (default: 0)
help-run-sound-for = With --sound: length in seconds, at most 600 (default: 30)
help-replay = Replay a logbook and check that it gives the same result
help-replay-file = The logbook: logbook.jsonl of a run
help-replay-scenario = The scenario of the logbook, if it is not a shipped one
help-replay-out = Folder for trace.csv, logbook.jsonl and the debrief of the replay, if it is consistent
help-replay-lid = Show true values in the debrief (open or closed); not possible where the scenario locks them
help-replay-json = Print one JSON object
help-twin = Compare two runs: one with an action, one without it
help-twin-without = Id of the action left out in one of the runs; scenario:ID or actions:ID if both files have it
help-twin-also = Another action to leave out as well
help-twin-out = Folder for twin.html
help-twin-picture = SVG file for a picture of both runs with the traces given by --trace
help-twin-trace = A trace for the picture, named as in trace.csv; may be repeated
help-class = Open a class: seats in a browser, the instructor's wall
help-class-folder = The class's folder; made if it does not exist
help-class-lan = Let the network reach it; without this only this machine can
help-class-listen = Where to listen, as 127.0.0.1:8080
help-class-word = The word that seats join with
help-class-lesson = What a new seat works on
help-class-cert = Certificate in PEM: connections are encrypted
help-class-key = The certificate's key in PEM
help-class-base-path = What stands before every path behind a proxy, as /a
help-class-seats = Maximum number of seats (default: 240)
help-class-testers = Let diagnostic testers reach the seats' modules: the first seat's on this port, each further seat's on the port after it
help-class-new-link = Make a new link for the instructor; the old one stops working
help-class-rehearse = Play this many seats in a class of their own in this folder and print how long acts take; several numbers with commas
help-class-seconds = For how many seconds (default: 60)
help-serve = Serve a scenario on the network: UDS over DoIP and J1979, for other people's programs
help-serve-scenario = Scenario to serve
help-serve-listen = Where to listen (default: 127.0.0.1:13400)
help-serve-lan = Let the network reach it; without this only this machine can
help-serve-pace = Simulated seconds in a second, 0.1 to 20 (default: 1)
help-serve-actions = Actions done at the car, at set times; more can be typed
help-serve-out = Write logbook, trace and debrief into this folder when it ends
help-identifiers = Print the numbers that the module answers to: parameters, identifiers, routines
help-identifiers-format = markdown or json (default: markdown)
help-class-delete = Delete the class with everything kept about anybody; asks for the folder's name first
help-class-yes = Delete without asking, for scripts
help-verify = Replay many logbooks that were handed in and print a verdict on each
help-verify-files = Logbooks, or folders: all *.jsonl files in and below them
help-verify-scenario = A scenario that is not shipped; may be repeated
help-verify-key = The instructor's key, to check seals
help-verify-out = Folder for the debrief of each consistent logbook
help-verify-lid = Show true values in those debriefs (open or closed); where the scenario locks them, only with --key and a valid seal
help-verify-shard = Judge only the K-th of N shares, for one of several machines; with --json, for --merge
help-verify-trainees = The class's list, one trainee per line: those who handed in nothing get a row too
help-verify-merge = Put together what --shard K/N --json printed for every share; the files are those
help-verify-csv = Write one row per logbook to this file
help-verify-force = Write over the table of an earlier round
help-seal = Seal a ticket for each trainee of a class, or make a key for sealing
help-seal-class-seed = The class's seed
help-seal-trainees = Text file with one trainee per line: pseudonyms or bench numbers
help-seal-key = The instructor's key: any file of 16 bytes or more
help-seal-out = Folder for the tickets, one per trainee
help-seal-new-key = Make a new key instead; an existing file is not overwritten
help-new = Write a scenario to start from: every key explained
help-new-from = Copy a scenario that ships, with its solution and traps, instead
help-new-file = The scenario's folder, or a .toml file; an existing file is not overwritten
help-check = Check scenario, action, answer, rubric and car files without running them
help-check-files = Files, folders of scenarios, or names of shipped ones
help-check-class-seed = The class's seed, with --trainee or --variants
help-check-trainee = Whose variant to check
help-check-variants = Check the variants of this many trainees, named 1, 2, 3 and so on
help-check-actions = With --solve: try this action file instead of the model solution
help-check-solve = Run the scenarios too: the model solution must pass, and replacing every part must not
help-scenarios = List the shipped scenarios
help-scenarios-actions = List the action files that ship with each one too; they tell what is wrong
help-scenarios-path = List them as a path: what to do first, and what builds on what
help-job = Show a job as a trainee gets it: complaint, cautions, possible causes, questions
help-words = Explain a word
help-words-word = A word or part of one; without it, all words are listed
help-calibrate = Calculate the limits of the misfire monitor from a healthy engine
help-calibrate-car = Car: name of a shipped one (default: plover), or a car file
help-calibrate-seed = Seed of the engine's parts (default: 1)
help-calibrate-turns = Revolutions observed at each point (default: 4000)
help-curves = How well misfires are detected on the right cylinder, and how many are counted falsely
help-curves-car = Car: name of a shipped one (default: plover), or a car file
help-curves-wheels = Number of engines, each with its own parts and reluctor wheel (default: 20)
help-curves-turns = Revolutions observed for false counts on each (default: 10000)
help-curves-picture = Also draw detected misfires and false counts to this SVG file
help-sweep = Run a scenario over many seeds, and over ranges of its own numbers, and show how the results spread
help-sweep-runs = Seeds for each combination of values (default: 20)
help-sweep-seed = First seed; the others follow it (default: the scenario's own)
help-sweep-over = A number of the scenario to vary, by its path in the file: setup.unmetered_leak_mm2=0:8:9 (from, to, how many) or setup.coolant_c=20,90; may be repeated; needs --lid open
help-sweep-signal = A signal to report at the end: a column of trace.csv, or a path as in an expectation; may be repeated
help-sweep-out = Folder for sweep.html, sweep.csv, runs.csv and sweep.json; a sweep that was stopped goes on from there
help-sweep-shard = Run only the K-th of N shares, for one of several machines; its folder then holds sweep.json alone, for --merge
help-sweep-merge = Put the shares together that lie in these folders
help-evidence = Measure every value from outside that the model is held against, and show what the program gives
help-evidence-out = Folder for evidence.html and evidence.json
help-evidence-car = One car only: plover, dunlin or whimbrel
help-evidence-only = One system only: engine, start, idle, fuel, misfire, wheel, battery, cooling, catalyst or codes
help-evidence-seeds = Seeds of the rows that are measured over seeds (default: 3)
help-evidence-against = An evidence.json recorded earlier: exit code 1 if a row that passed misses now, or is gone
help-evidence-record = Write evidence.json to this file, to be recorded
help-speed = Measure how fast this machine simulates warm idle and mixed driving
help-speed-step-deg = Crank step in degrees: 2 (default), 1 or 0.5
help-speed-seconds = Simulated seconds to measure (default: 2000)
