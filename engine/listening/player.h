// The player on a sound device: a PlayerCore fed to PortAudio. The only place that knows PortAudio.
//
// All calls from one thread, the window's. The device runs its own callback thread. Call poll()
// about once a frame: it notices a device that went away, looks for it again and goes on when it is
// back.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "engine/listening/player_core.h"
#include "engine/result.h"

namespace bentline {

// A sound output. `name` identifies it between runs and when it comes back.
struct SoundDevice {
    std::string name;  // as the system calls it, with its interface: "ALSA: hw:0,0"
    int channels = 0;  // outputs
    SampleRate rate;   // its own
    bool is_default = false;
};

enum class DeviceState {
    closed,   // none opened yet, or closed
    running,  // the callback is being called
    lost,     // it was running and went away; poll() looks for it
    held,     // it went away and its system holds on to it, as a JACK server that died does for ten
              // minutes: poll() waits for that; another can be opened meanwhile
};

struct PlayerSettings {
    std::string device;  // SoundDevice::name; empty: the system's default
    int block_frames =
        256;  // 32 to 4096; 0 lets the device choose. 256: common practice, no source
    Seconds latency{0.012};  // asked of the device on top of the block; it may give more
};

class Player {
  public:
    Player();  // opens nothing yet [window]
    ~Player();
    Player(const Player&) = delete;
    Player& operator=(const Player&) = delete;

    // Begins to look for the system's outputs on a thread of its own, so that the first devices()
    // or open() need not wait for it: half a second and more on a busy machine. Does nothing once
    // that was done. [window]
    void prepare();

    // The core takes the commands and gives the status, whether or not a device runs. [window]
    PlayerCore& core();
    const PlayerCore& core() const;

    // Outputs there are now. Looks anew only while no device is open (PortAudio's rule). [window]
    std::vector<SoundDevice> devices();
    // Opens the device at `preferred` (the recording's rate, so that it need not be resampled) or
    // at the device's own rate where it cannot. Closes the one before. no_device when it cannot.
    // [window]
    Result<Done> open(const PlayerSettings& settings, SampleRate preferred);
    void close();
    DeviceState state() const;
    // How long what was rendered last still takes to the ear, as the device says; zero while none
    // is open. [window]
    Seconds output_latency() const;
    const std::string& device() const;  // the name of the one chosen last; empty before
    // See above. True when the state has changed. [window]
    bool poll();

  private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

}  // namespace bentline
