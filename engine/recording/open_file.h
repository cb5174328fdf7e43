// The open file under a decoder: its descriptor, what it looked like when it was opened, and the
// sentences for what can go wrong with it. Inside engine/recording only.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

#include "engine/result.h"
#include "engine/units.h"

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

class OpenFile {
  public:
    // Failures: not_found, unreadable (no permission, a folder, no regular file), empty (0 bytes).
    static Result<OpenFile> open(const std::filesystem::path& path);

    ~OpenFile();
    OpenFile(OpenFile&& other) noexcept;
    OpenFile& operator=(OpenFile&& other) noexcept;

    const std::filesystem::path& path() const { return path_; }
    int descriptor() const { return descriptor_; }
    std::int64_t size() const { return identity_.size; }

    // gone: deleted, replaced or changed since it was opened.
    Result<Done> still_there() const;
    // Puts the descriptor back to the file's first byte.
    void rewind() const;
    // Up to `length` bytes from `at`, less at the end of the file or where it cannot be read.
    std::string bytes(std::int64_t at, std::size_t length) const;

    // "PATH WHAT"
    Failure failure(FailureKind kind, const std::string& what) const;
    // "PATH WHAT at 1:02.345 (frame 2751234); ADVICE"
    Failure failure_at(FailureKind kind, Frames frame, SampleRate rate,
                       const std::string& what) const;

  private:
    OpenFile() = default;

    std::filesystem::path path_;
    FileIdentity identity_;
    int descriptor_ = -1;
};

}  // namespace bentline
