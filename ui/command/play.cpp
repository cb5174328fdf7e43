// bentline play: the draft on a plucked string, alone or beside its recording, as a file or aloud.
#include <algorithm>
#include <chrono>
#include <memory>
#include <optional>
#include <thread>

#include <fcntl.h>
#include <unistd.h>

#include "engine/listening/player.h"
#include "engine/sound/draft_voice.h"
#include "engine/sound/render_draft.h"
#include "ui/command/open_draft.h"
#include "ui/command/options.h"
#include "ui/command/verbs.h"

namespace bentline::command {

namespace {

struct PlayOptions {
    bool quiet = false;
    bool plain = false;
    bool pencilled = false;
    bool glide = false;
    bool beside = false;
    PlayFileSettings play;
    std::string draft;
    std::optional<std::string> from;
    std::optional<std::string> to;
    std::optional<std::filesystem::path> as_wav;
};

constexpr SampleRate usual_rate{44100};  // where the recording is not there to say
constexpr Seconds most_silence{60.0};    // played after the end of draft and recording

Result<PlayedPart> part_of(const Draft& draft, const PlayOptions& options, Console& console) {
    VoiceSettings settings;
    settings.plain = options.plain;
    settings.slides = options.glide ? SlideManner::gliding : SlideManner::stepped;
    settings.which = options.pencilled ? WhichNotes::inked_and_pencilled : WhichNotes::inked;
    if (select_notes(draft, settings.which).empty() && !draft.notes.empty()) {
        console.say("No note of the draft is inked yet: this plays the pencilled ones");
        settings.which = WhichNotes::inked_and_pencilled;
    }
    if (draft.notes.empty()) {
        return Failure{FailureKind::out_of_range,
                       options.draft + " has no notes to play: pencil or add some first",
                       {options.draft, {}, {}}};
    }
    // Beside its recording the draft stands as loud as it was measured there.
    if (options.beside) settings.middle = measured_middle(draft).value_or(settings.middle);
    return prepare(draft, settings);
}

// Without --from and --to from the recording's beginning, so that times in the file are the
// draft's.
Result<SecondsRange> span_of(const Draft& draft, const PlayedPart& part,
                             const std::optional<Recording>& recording,
                             const PlayOptions& options) {
    SecondsRange span = span_of_part(part).value_or(SecondsRange{});
    span.from = Seconds(0);
    for (const bool first : {true, false}) {
        const auto& text = first ? options.from : options.to;
        if (!text) continue;
        auto place = parse_place(*text, draft.bars);
        if (!place) return place.failure();
        (first ? span.from : span.to) = *place;
    }
    if (span.empty() || span.from < Seconds(0)) {
        return Failure{FailureKind::out_of_range,
                       "--from and --to leave nothing to play: --from must not lie before the "
                       "recording and --to must lie after it, in a draft that ends at " +
                           place_name(span_of_part(part)->to, draft.bars),
                       {}};
    }
    Seconds end = span_of_part(part)->to;
    if (recording) end = std::max(end, recording->info().duration());
    if (span.to > end + most_silence) {
        return Failure{FailureKind::out_of_range,
                       "--to " + options.to.value_or("") +
                           " lies long after the music, which ends at " +
                           place_name(end, draft.bars) + ": choose --to inside it",
                       {}};
    }
    return span;
}

// The span of the recording in memory, silent where it has none.
Result<Audio> heard_beside(const std::optional<Recording>& recording, SecondsRange span,
                           Console& console) {
    const SampleRate rate = recording ? recording->info().rate : usual_rate;
    const FramesRange wanted{to_frames(span.from, rate), to_frames(span.to, rate)};
    Audio audio{rate, wanted.from, {}};
    if (recording) {
        const Frames end = recording->info().frames;
        auto read = recording->read({std::min(wanted.from, end), std::min(wanted.to, end)},
                                    console.work("Reading"));
        if (!read) return read.failure();
        audio.channels = std::move(read->channels);
    }
    if (audio.channels.empty()) audio.channels.resize(1);
    for (auto& channel : audio.channels)
        channel.resize(static_cast<std::size_t>((wanted.to - wanted.from).value()), 0.0F);
    return audio;
}

// While it lives, standard error goes nowhere: the system's sound libraries write their own
// complaints there, about every device that they do not find.
class Hush {
  public:
    Hush() : kept_(dup(STDERR_FILENO)) {
        const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
        if (nowhere < 0) return;
        dup2(nowhere, STDERR_FILENO);
        close(nowhere);
    }
    ~Hush() {
        if (kept_ < 0) return;
        dup2(kept_, STDERR_FILENO);
        close(kept_);
    }
    Hush(const Hush&) = delete;
    Hush& operator=(const Hush&) = delete;

  private:
    int kept_;
};

int play_aloud(const PlayedPart& part, const std::optional<Recording>& recording, SecondsRange span,
               const PlayOptions& options, Console& console) {
    auto audio = heard_beside(recording, span, console);
    if (!audio) return console.fail(audio.failure());
    std::optional<Player> held(std::in_place);
    std::optional<Failure> failure;
    {
        const Hush hush;
        if (auto opened = held->open({}, audio->rate); !opened) {
            failure = opened.failure();
            held.reset();
        }
    }
    if (failure) {
        failure->sentence += "; or write a file with --as-wav";
        return console.fail(*failure);
    }
    Player& player = *held;
    PlayerCore& core = player.core();
    core.load(std::make_shared<const Audio>(std::move(audio).value()));
    core.second(
        std::make_unique<DraftVoice>(std::make_shared<const PlayedPart>(part), core.device_rate()));
    core.balance(options.beside ? options.play.balance : 1.0);
    core.split(options.beside && options.play.split);
    core.speed(options.play.speed);
    core.play();
    console.say("Playing on " + player.device() + ", quietly; Ctrl-C ends it");
    const Work work = console.work("Playing");
    for (bool begun = false;;) {
        std::this_thread::sleep_for(std::chrono::milliseconds(30));
        player.poll();
        const PlayerStatus status = core.status();
        begun = begun || status.playing;
        if (begun && !status.playing) break;
        if (player.state() == DeviceState::lost) {
            return console.fail(
                {FailureKind::no_device,
                 "the sound output '" + player.device() + "' went away; plug it in and play again",
                 {}});
        }
        if (!work.report(0.0)) break;  // told to stop: no failure
    }
    return exit_done;
}

int run(const PlayOptions& options) {
    Console console(options.quiet);
    auto draft = open_draft(options.draft, console);
    if (!draft) return console.fail(draft.failure());
    if (auto ok = check_out(options.as_wav, {options.draft, draft->recording.path}); !ok)
        return console.fail(ok.failure());
    auto part = part_of(*draft, options, console);
    if (!part) return console.fail(part.failure());
    std::optional<Recording> recording;
    auto opened = Recording::open(draft->recording.path);
    if (opened) {
        recording.emplace(std::move(opened).value());
    } else if (options.beside) {
        return console.fail(opened.failure());
    }
    auto span = span_of(*draft, *part, recording, options);
    if (!span) return console.fail(span.failure());
    if (!options.as_wav) {
        if (!options.beside) recording.reset();
        return play_aloud(*part, recording, *span, options, console);
    }
    const SampleRate rate = recording ? recording->info().rate : usual_rate;
    const Work work = console.work("Playing");
    auto done =
        options.beside
            ? write_part_beside(*part, *recording, *span, options.play, *options.as_wav, work)
            : write_part(*part, *span, options.play, rate, *options.as_wav, work);
    if (!done) return console.fail(done.failure());
    console.say(options.as_wav->string() +
                ": begin with the volume low. A solo and a recording have owners: check the rights "
                "before you hand out copies");
    return exit_done;
}

}  // namespace

void add_play(CLI::App& app, Run& out) {
    auto options = std::make_shared<PlayOptions>();
    CLI::App* verb = app.add_subcommand(
        "play", "The draft played on a plucked string, aloud or into a WAV file");
    verb->add_option("DRAFT", options->draft, "The draft (.bentline)")->required();
    verb->add_option("--as-wav", options->as_wav, "Write it instead of playing it aloud")
        ->type_name("F.wav");
    verb->add_flag("--plain", options->plain,
                   "Keys and lengths only, without bends, slides and vibrato");
    verb->add_flag("--pencilled", options->pencilled, "Also the notes that are not inked yet");
    verb->add_flag("--glide", options->glide, "Slides without steps, as on a fretless neck");
    auto* beside = verb->add_flag("--with-recording", options->beside,
                                  "Together with the recording it was lifted from");
    verb->add_option("--balance", options->play.balance,
                     "0 the recording alone, 0.5 both in full, 1 the draft alone")
        ->check(between(0.0, 1.0))
        ->needs(beside);
    verb->add_flag("--apart", options->play.split, "The recording left, the draft right")
        ->needs(beside);
    verb->add_option("--speed", options->play.speed, "1 as recorded, 0.5 half speed; 0.1 to 2")
        ->check(between(0.1, 2.0));
    verb->add_option("--from", options->from,
                     "Start here: seconds of the recording, or bar:beat (7:1)")
        ->type_name("PLACE");
    verb->add_option("--to", options->to, "End here: seconds, or bar:beat")->type_name("PLACE");
    verb->add_flag("--quiet", options->quiet, "Say nothing but failures");
    verb->callback([options, &out] { out = [options] { return run(*options); }; });
}

}  // namespace bentline::command
