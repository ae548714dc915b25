### The command line: help, progress, what commands print and what is wrong with what was given.

## The application room: what is wrong with files and attempts

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
app-share = { $given } is no share of the files: it is K/N, as 3/16
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
app-after-the-end = { $what } lies after the end, run_s = { $end }
app-act-at = act `{ $act }` at { $at } s
app-expectation-at = the expectation at { $at } s
app-of-act = act `{ $act }`: { $why }
app-names-what-differs = `{ $name }` asks for what differs from trainee to trainee, and the lid is closed: an action file may do so under an open lid only
app-alone = { $why } (no scenario was found to read it against)
app-not-kept = { $why }; it is driven anew each time
app-trainee-twice = this trainee already stands on line { $line }
app-too-many-trainees = there must be no more than { $most } trainees
app-no-trainee = it names no trainee

# Marks of a desk
view-mark-hand-over = came in
view-mark-slipped-in = slipped in

# Logbooks run again
app-no-logbook = this is no logbook: { $why }
app-is-no-logbook = no logbook: { $why }
app-cannot-be-read = cannot be read: { $why }
app-same-version-only = { $why }; only the same version can run it again
app-other-car = the car's file is not the one that was run
app-other-sources = made by a build from other sources; { $why }
app-no-such-lid = no run under this lid could have been made
app-give-its-scenario = the text that was run does not ship with this program: give its file with --scenario
app-another-scenario = `{ $file }` is not the scenario that was run
app-other-scenarios = none of the files given with --scenario is the one that was run
app-changed-text = the text was changed, here or below: its sum does not hold; and { $why }
app-no-such-actions = the header's `actions` text is none that could have been run
app-not-reached = it was not reached
app-program-failed = the program failed while it ran this again: please report it
app-expected-found = { $why } (expected { $expected }; found { $found })
app-lid-was-open = the lid was open
app-same-attempt = the same attempt as { $file }
app-same-lines = under another header the very lines of { $file }
app-named-twice = named twice

## Files

file-no-output = cannot write to the standard output: { $why }
file-cannot-write = cannot write `{ $file }`: { $why }
file-cannot-make-folder = cannot make folder `{ $folder }`: { $why }
file-cannot-write-into = cannot write into folder `{ $folder }`: { $why }
file-cannot-write-folder = cannot write folder `{ $folder }`: { $why }
file-is-a-folder = it is a folder
file-no-name = it is no file's name
file-is-there = `{ $file }` is there already and is left alone
file-key-is-there = `{ $file }` is there already, and a key is never written over

## Languages

lang-unknown = `{ $asked }` is no language that ships (en, en-x-pseudo), and no file or folder of messages
lang-no-tag = the file's or folder's name must be a language's tag, as de or pt-BR (`{ $tag }` is none)
lang-syntax = this is no message: { $why }
lang-twice = the message `{ $id }` stands twice
lang-cannot-read = cannot read the language `{ $file }`: { $why }
lang-empty-folder = there is no *.ftl in it

## Progress

progress-earlier-life = driving the car's earlier life: { $share } %, { $spent } s spent
progress-running = { $at } of { $end } simulated, { $pace } times real time, { $left } s left
progress-days = day { $at } of { $end }, { $share } %: { $what }; { $spent } s spent

## Arguments

usage-more = For more information, try `idlewright --help`.
usage-unknown-argument = there is no argument `{ $arg }` here
usage-unknown-command = there is no command `{ $command }`
usage-value-missing = `{ $arg }` needs a value
usage-value = `{ $value }` is no value for `{ $arg }`
usage-value-of = `{ $value }` is no value for `{ $arg }`; it takes { $valid }
usage-conflict = `{ $arg }` cannot be used with `{ $other }`
usage-missing = required and not given: { $args }
usage-count = `{ $arg }` takes another number of values
usage-step-deg = --step-deg must be 2, 1 or 0.5 ({ $given } given)
usage-seconds = --seconds must be from 1 to 1000000 ({ $given } given)
usage-after = --after must be from 0 to 86400 ({ $given } given)
usage-picture-png = --picture must name a .png file (`{ $file }` given)
usage-class-seed-alone = --class-seed needs --trainee or --variants
usage-curves = --wheels from 1 to 10000, --turns from 200 to 1000000
usage-seal-needs = seal needs a scenario, a class seed, trainees, a key and a folder

## What commands print

check-scenario = scenario { $id }, { $acts } acts, { $expectations } expectations: good
check-actions = actions { $id } for scenario { $scenario }, { $acts } acts, { $expectations } expectations: good
check-actions-alone = actions { $id }, { $acts } acts, { $expectations } expectations: good in form; no scenario was found to read it against
check-trainees = { $checked }, and so for { $trainees } trainees of class seed { $seed }
check-of-trainee = { $why } (the variant of trainee { $trainee }, class seed { $seed })
solve-of-trainee = { $scenario } of trainee { $trainee }
solve-alone = left alone it is not what it should be: { $missed }
solve-no-lesson = no lesson: { $met } of { $of } expectations of its solution met, { $minutes } min
solve-points = { $points } of { $of } points
solve-solution = { $closes ->
    [yes] the model solution closes it: { $points }, { $minutes } min, { $money } { $currency }; { $met } of { $of } expectations met
   *[no] the model solution does not close it: { $points }, { $minutes } min, { $money } { $currency }; { $met } of { $of } expectations met
  }
solve-swapped = { $closes ->
    [yes] fitting every part closes it: { $points }, { $parts } good parts, { $money } { $currency }
   *[no] fitting every part does not close it: { $points }, { $parts } good parts, { $money } { $currency }
  }
solve-trap = { $closes ->
    [yes] trap { $number } closes it: { $points }
   *[no] trap { $number } does not close it: { $points }
  }

verdict-consistent = consistent
verdict-altered = altered
verdict-other-version = other version
replay-not-at-hand = logbook of scenario { $scenario }: { $why }
replay-line = line { $line }: { $why }
replay-expected = expected
replay-found = found
replay-nothing-written = Nothing was written.
replay-run = { $lid ->
    [open] scenario { $scenario }, seed { $seed }, lid open, { $simulated } s simulated; { $met } of { $all } expectations met
   *[closed] scenario { $scenario }, seed { $seed }, lid closed, { $simulated } s simulated; { $met } of { $all } expectations met
  }
replay-run-worked = { $lid ->
    [open] scenario { $scenario }, worked by { $actions }, seed { $seed }, lid open, { $simulated } s simulated; { $met } of { $all } expectations met
   *[closed] scenario { $scenario }, worked by { $actions }, seed { $seed }, lid closed, { $simulated } s simulated; { $met } of { $all } expectations met
  }
replay-cannot-tell-who = It tells that these acts come to this. It cannot tell who did them.

verify-spent = { $logbooks } logbooks run again in { $wall } s on { $threads } threads; time of the processor: { $rebuild } s for earlier lives that were not kept, { $rest } s for the rest
verify-progress = { $done } of { $all } run again
verify-no-such-file = there is no such file
verify-cannot-read-folder = cannot read this folder: { $why }
verify-empty-folder = a folder without a *.jsonl in or below it

seal-new-key = { $file }: a new key. Who has it can seal tickets: keep it to yourself.
seal-done = { $tickets } tickets in { $folder }
seal-another-ticket = cannot write `{ $file }`: another ticket lies there; give an empty folder
seal-no-randomness = the system gives no random numbers for a key: { $why }

new-done = { $file }: a scenario to begin with; `idlewright run { $file } --lid open` runs it
list-scenarios = Shipped scenarios; run one with `idlewright run NAME`:
list-level = level { $level }
list-words = `idlewright words WORD` tells what one means.
list-no-word = the glossary has no `{ $word }`
list-also = also: { $words }
list-see = See { $words }.

calibrate-by = worked out by `idlewright calibrate --car { $car } --seed { $seed } --turns { $turns }`:
calibrate-columns = healthy firings and missed ones, mean and standard deviation of the index, 1/s²
calibrate-point = { $rpm } rpm { $kpa } kPa: healthy { $healthy } ± { $healthysd }, missed { $missed } ± { $missedsd }, limit { $limit } ({ $distance } deviations)
curves-no-folder = there is no folder `{ $folder }` for the picture
curves-progress = { $done } of { $all } engines
curves-title = { $car }: { $engines } engines, { $turns } turns each; real misfires found on the right cylinder, %
curves-learned = wheel learned
curves-not-learned = not learned
curves-false = false in 1000
curves-short-learned = learned
curves-short-not = not
curves-all = all
curves-not-held = ({ $engines } could not be held)
speed-car = { $car }, { $cylinders } cylinders, step { $step }°
speed-idle = warm idle
speed-mixed = mixed driving
speed-step = a cylinder step
speed-times = { $x } times real time on one core
speed-ns = { $x } ns

window-not-built = this program was built without one
window-not-there = This program has no window. Running the first scenario headless; `idlewright --help` tells the rest.
window-cannot-open = The window cannot be opened: { $why }.
    All of it can be done without one: `idlewright run { $scenario }` runs this scenario, `idlewright --help` tells the rest.
window-written = Written: { $files }

## Help: help-COMMAND, help-COMMAND-ARGUMENT, help-any-ARGUMENT

help-usage = Usage:
help-commands = Commands
help-arguments = Arguments
help-options = Options
help-after =
    A simplified model of made-up cars: never a reference procedure for a real one. The vehicle maker's
    current procedure, workplace rules and the instructor always win.

    Exit codes: 0 expectations hold, 1 they don't, 2 bad input, 3 no display for the window, 4 file
    trouble, 5 a logbook that was altered or written by another version, 130 stopped.
help-any-help = Print help
help-any-version = Print version
help-any-lang = Language: en, en-x-pseudo, or a Fluent file or folder of *.ftl files; else what IDLEWRIGHT_LANG names
help-any-file = Scenario file, or the name of a shipped one (A0, A1-idles-high ...)
help-any-scenario = Scenario file, or the name of a shipped one (A0, A1-idles-high ...)
help-any-actions = What a trainee does after hand-over: an action file, or the name of a shipped one
help-any-seed = Another seed: other parts of the same kinds
help-any-class-seed = The class's seed: with --trainee another instance, equally hard, for each
help-any-trainee = Who works: a pseudonym or bench number, 1 to 64 characters
help-any-ticket = A ticket that the instructor sealed: class seed and trainee come from it
help-any-rubric = Rows laid over the rubric: weights, task codes, rows of one's own
help-any-json = Print one JSON object instead of the table
help-any-lid = Lift the lid: show truth beside belief; open or closed
help-any-no-cache = Drive the car's earlier life anew; neither read nor keep a conditioned car
help-any-subcommand = The command

help-idlewright = A bench on which technicians learn how an engine module learns.
help-help = Print this, or the help of a command
help-window = Open the window on a scenario; so does no command at all, on the first one
help-window-picture = Take a picture of the window and end
help-window-after = With --picture: so many simulated seconds after hand-over
help-window-open-lid = With --picture: with the lid off
help-window-show = With --picture: what takes the middle: engine, traces, wheel or cylinders
help-window-night = With --picture: in the night bay
help-window-screen = Keep writing into a file what stands on the screen: words, places, the focus, time; for scripts
help-window-frames = Draw so many frames of the idling car as fast as they go, say how fast that was, and end
help-run = Run a scenario and tell what came of it
help-run-step-deg = Crank step in degrees: 2, 1 or 0.5
help-run-answers = What the trainee answers when the session asks: cautions, cause, predictions
help-run-out = Folder for trace.csv, logbook.jsonl, debrief.html, debrief.json and gradebook.csv
help-replay = Run again what a logbook records, and say whether it comes to the same
help-replay-file = The logbook: logbook.jsonl of a run
help-replay-scenario = The scenario it was made from, where that does not ship
help-replay-out = Folder for trace.csv, logbook.jsonl and the debrief of the replay, if it is consistent
help-replay-lid = Lift the lid for who reads the debrief; not where the scenario locks it; open or closed
help-replay-json = Print one JSON object
help-twin = Run two futures side by side: one with an act, one without it
help-twin-without = Id of the act that one of the two leaves out; scenario:ID or actions:ID where both files have it
help-twin-also = Another act to leave out with it
help-twin-out = Folder for twin.html
help-twin-picture = SVG file for a picture of both on the traces that --trace names
help-twin-trace = A trace for the picture, as trace.csv calls it; may be given again
help-class = Open a class: seats in a browser, the instructor's wall
help-class-folder = The class's folder; it is made where there is none
help-class-lan = Let the network reach it; else this machine alone does
help-class-listen = Where to listen, as 127.0.0.1:8080
help-class-word = The word that seats join with
help-class-lesson = What a new seat works on
help-class-cert = Certificate, in PEM: connections are encrypted
help-class-key = The certificate's key, in PEM
help-class-base-path = What stands before every path, behind a proxy, as /a
help-class-seats = Most seats
help-class-new-link = Make another link for the instructor; the one before stops working
help-class-rehearse = Play so many seats in a class of their own in this folder, and tell how long acts take; several numbers with commas
help-class-seconds = For how long
help-class-delete = Delete the class with all that is kept of anybody
help-verify = Run again the logbooks that were handed in, many at a time, and tell the verdict on each
help-verify-files = Logbooks; of a folder all *.jsonl in and below it
help-verify-scenario = A scenario that does not ship; may be given more than once
help-verify-key = The instructor's key, to check seals with
help-verify-out = Folder for the debrief of each logbook that comes out
help-verify-lid = Lift the lid in those debriefs; where a scenario locks it, with --key and a good seal only; open or closed
help-verify-shard = Judge the K-th of N shares only, for one of several machines; with --json, for --merge
help-verify-merge = Put together what --shard K/N --json printed for every share; the files are those
help-verify-csv = Write one row for each logbook into this file
help-seal = Seal a ticket for each trainee of a class, or make a key to seal with
help-seal-class-seed = The class's seed
help-seal-trainees = Text file with one trainee a line: pseudonyms or bench numbers
help-seal-key = The instructor's key: any file of 16 bytes or more
help-seal-out = Folder for one ticket for each trainee
help-seal-new-key = Make a new key instead; a file that is there is left alone
help-new = Write a scenario to begin one's own with: every key explained
help-new-file = The file; one that is there is left alone
help-check = Check scenario and action files without running them
help-check-files = Files, or names of shipped scenarios
help-check-class-seed = The class's seed, with --trainee or --variants
help-check-trainee = Whose variant to check
help-check-variants = Check the variants of so many trainees, called 1, 2, 3 and so on
help-check-solve = Run scenarios too: their model solution must close them, fitting every part must not
help-scenarios = List the shipped scenarios
help-words = What a word means
help-words-word = A word or a part of one; none lists all
help-calibrate = Work out the misfire monitor's limits from a healthy engine
help-calibrate-car = Car: a shipped one's name (plover if none is given), or a car file
help-calibrate-seed = Seed of the engine's parts; 1 if none is given
help-calibrate-turns = Turns watched at each point; 4000 if none are given
help-curves = How well misfires are found on the right cylinder, and how many are counted that were none
help-curves-car = Car: a shipped one's name (plover if none is given), or a car file
help-curves-wheels = Engines with parts and wheels of their own; 20 if none are given
help-curves-turns = Turns watched for false counts on each; 10000 if none are given
help-curves-picture = Draw misfires found and false counts into this SVG file as well
help-speed = Measure how fast warm idle and mixed driving are simulated here
help-speed-step-deg = Crank step in degrees: 2 if none is given, 1 or 0.5
help-speed-seconds = Simulated seconds to measure over; 2000 if none are given
