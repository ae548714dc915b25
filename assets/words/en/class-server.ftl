# A class: what its server says, to pages and at the command line.

## The folder

class-folder = `{ $folder }` cannot be used: { $why }
class-database = the class's database cannot be used: { $why }
class-in-use = `{ $folder }` is in use: another program runs this class
class-form = this class was made by another version: its folder has form { $form }, this program reads form { $ours }
class-is-none = `{ $folder }` holds no class
class-no-random = the system gives no random numbers, so no secret can be made
class-journal = not written down, the disk may be full: { $why }
class-certificate = the certificate or its key cannot be used: { $why }
class-word-form = a class's word has 1 to 24 letters, digits, spaces or hyphens

## Who is let in

class-wait = Too many wrong words in a row. Try again in a minute.
class-wrong-word = The class word or the seat code is wrong.
class-pseudonym = The name of your seat has 1 to 24 letters, digits, spaces or hyphens.
class-taken = A seat in this class has that name already. If it is yours, ask your instructor for a code; if not, choose another name.
class-full = The class is full.
class-trouble = Your work cannot be saved at the moment. Tell your instructor.
class-foreign = This page is not part of the class.
class-join-first = Join the class first.
class-wrong-link = This is not the instructor's link.
class-not-released = Your instructor has not released this debrief yet.
class-not-there = There is nothing here.

## What a seat asks for

class-not-understood = That was not understood.
class-not-offered = That cannot be done here.
class-not-allowed = Your instructor does not allow that now.
class-nothing-under-way = There is no work under way at this seat.
class-no-such-answer = That is no answer to this question.
class-out-of-range = That number is out of range.
class-no-answer-yet = no answer yet
class-job-line = { $what }: { $minutes } min, { $money }
class-money = { $money } { $currency }

## What a seat can press

class-plug-pull = Disconnect
class-plug-push = Connect
class-tailpipe = at the tailpipe
class-road = road
class-road-minutes = minutes
class-road-hours = hours
class-road-trips = trips a day
class-road-week = days a week
class-road-days = days
class-road-drive = Drive now
class-road-rest = Leave it standing, locked
class-road-life = Let its owner drive on

## At the command line

class-not-built = this program was built without the feature `class`
class-open = Class in { $folder }
class-address = Seats open { $url }
class-its-word = and join with the word { $word }
class-link = Your own page, for nobody else (it is not shown again): { $url }
class-link-again = Your own page: by the link that was shown when the class was made. --new-link makes another, and the old one stops working.
class-lan-caution = Everybody on this network can reach the class. Use it on a network that you trust, and end it with the lesson.
class-lan-plain = Nothing is encrypted: whoever controls the network could read and change what is sent. --cert and --key encrypt it.
class-testers = Diagnostic testers (UDS over DoIP) reach the first seat's module on port { $port } and each further seat's on the port after it. A port accepts only the device on which that seat's page is open. These connections are not encrypted.
class-stop = Ctrl-C ends it; nothing is lost.
class-delete-asks =
    This deletes the class in { $folder } with everything kept about its people: logbooks, debriefs, marks.
    Type the folder's name, { $name }, to delete it:
class-delete-kept = nothing was deleted: the name of { $folder } was not typed; `--yes` deletes without asking
class-deleted = The class in { $folder } is deleted; lessons of your own were left there.
class-no-threads = the class cannot be run: { $why }
class-cannot-listen = cannot listen on { $address }: { $why }
class-needs-lan = { $address } can be reached from the network: add --lan to allow this
class-base-path = a base path has letters, digits, hyphens, underscores and slashes
class-no-address = `{ $given }` is not an address with a port, such as 127.0.0.1:8080

## The wall

class-done = Done.
class-no-seat = There is no seat { $seat }.
class-no-question = No seat has a lesson with the question { $ask }.
class-no-attempt = There is no such attempt that was handed in.
class-needs-reason = Other marks need a reason.
class-exam-lesson = An exam needs a lesson.
class-exam-open-lid = This lesson shows true values from the start: it cannot be an exam.
class-exam-unmarked = This scenario is not marked: it cannot be an exam.
class-exam-over = The exam is over: your car was handed over as it stood.
class-code = Code for this seat, good once: { $code }
class-plug-off = { $plug } unplugged
class-given = Marks by the instructor: { $points } of { $of }. { $reason }
class-no-debriefs = Nothing has been handed in yet.
class-stage-looks = looking round
class-stage-measures = testing
class-stage-names = cause named
class-stage-repairs = repairing
class-stage-learns = relearning

class-rehearsal-there = { $folder } is there already: rehearse in a new folder
class-rehearsal-head = { " " }seats   acts  ack p95 view p50 view p95  MB/seat   CPU %   pace  views/s  lost
class-rehearsal-line = { $seats } { $acts } { $ack } { $half } { $most } { $mb } { $cpu } { $pace } { $views } { $lost }
