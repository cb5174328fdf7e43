// One open sound file: the descriptor, the decoder, and what the file looked like when it was
// opened. Inside engine/recording only.
#pragma once

#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "engine/recording/downmix.h"
#include "engine/result.h"
#include "engine/units.h"

struct sf_private_tag;  // libsndfile's handle

namespace bentline {

// What a file was when it was opened: another inode, size or time means another file.
struct FileIdentity {
    std::uint64_t device = 0;
    std::uint64_t inode = 0;
    std::int64_t size = 0;
    std::int64_t changed_s = 0;
    std::int64_t changed_ns = 0;
    friend bool operator==(const FileIdentity&, const FileIdentity&) = default;
};

enum class Coding { plain, flac, vorbis, opus, mpeg };

class SoundFile {
  public:
    // Failures as Recording::open states them.
    static Result<SoundFile> open(const std::filesystem::path& path);

    ~SoundFile();
    SoundFile(SoundFile&& other) noexcept;
    SoundFile& operator=(SoundFile&& other) noexcept;

    const std::filesystem::path& path() const { return path_; }
    SampleRate rate() const { return rate_; }
    int channels() const { return channels_; }
    Frames frames() const { return frames_; }
    Coding coding() const { return coding_; }
    const std::string& format() const { return format_; }
    const std::vector<Seat>& seats() const { return seats_; }

    // gone: deleted, replaced or changed since it was opened.
    Result<Done> still_there() const;
    // Moves the decoder to a frame, early enough that what follows is exact.
    Result<Done> seek(Frames to);
    // Decodes up to out.size() / channels() frames from where the decoder stands; fewer at the end.
    // The count says how many; damaged where the decoder reports an error.
    Result<Frames> read(std::span<float> out);

    // A failure that names the file and a frame: "KIND: PATH … at 0:12.345 …".
    Failure failure_at(FailureKind kind, Frames frame, const std::string& what) const;

  private:
    SoundFile() = default;
    void close() noexcept;

    std::filesystem::path path_;
    FileIdentity identity_;
    int descriptor_ = -1;
    sf_private_tag* sound_ = nullptr;
    SampleRate rate_;
    int channels_ = 0;
    Frames frames_;
    Frames position_;
    Coding coding_ = Coding::plain;
    std::string format_;
    std::vector<Seat> seats_;
};

}  // namespace bentline
