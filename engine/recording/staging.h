// Several files that come into being together, or none of them.
//
// Each is first written whole, beside its target and under no name that anyone looks for
// (AtomicFile); put_in_place() then moves all of them under their names. What stood there before
// is kept under a hidden name until the last move is done, and comes back when one fails. An
// object that is destroyed before put_in_place() leaves nothing behind. A target that is no regular
// file (a terminal, a pipe) is written first, straight through, and cannot be taken back. [worker],
// one thread at a time
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "engine/recording/atomic_file.h"
#include "engine/result.h"

namespace bentline {

class Staging {
  public:
    Staging() = default;
    ~Staging();
    Staging(Staging&&) = delete;

    // A file of these bytes. Fails with cannot_write, as AtomicFile does, and where two files are
    // to have one name.
    Result<Done> add(const std::filesystem::path& target, std::string_view bytes);

    // A hidden folder to write files into that shall lie in `folder`; `folder` is made when they
    // are put in place, if it is not there, and so are the folders above it. Its other files stay.
    // Fails with cannot_write.
    Result<std::filesystem::path> add_folder(const std::filesystem::path& folder);

    // Fails with cannot_write; everything is then as it was before.
    Result<Done> put_in_place();

  private:
    struct Through {  // to a terminal or a pipe
        AtomicFile file;
        std::string bytes;
    };
    struct StagedFolder {
        std::filesystem::path hidden;
        std::filesystem::path target;
    };
    struct Move {
        std::filesystem::path staged;
        std::filesystem::path target;
        std::filesystem::path kept;  // where the file that stood there is kept; empty: none did
    };
    Result<std::vector<Move>> moves();
    Result<Done> make_folder(const std::filesystem::path& folder);
    void take_back(const std::vector<Move>& done);

    std::vector<AtomicFile> files_;
    std::vector<Through> through_;
    std::vector<StagedFolder> folders_;
    std::vector<std::filesystem::path> made_;  // folders, in the order of their making
};

}  // namespace bentline
