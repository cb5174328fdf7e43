// A locale in which numbers are written as in German: 1.234,5.
#pragma once

#include <clocale>
#include <cstdlib>
#include <locale>
#include <string>

#include "tests/support/folder.h"

namespace bentline::testing {

// While it lives, this process has that locale: in C++ streams always, in the C library where one
// can be made from the system's sources (nothing needs to be installed).
class CommaLocale {
  public:
    CommaLocale() {
        std::locale::global(std::locale(std::locale::classic(), new Numbers));
        const std::string made = (folder_ / "comma").string();
        const std::string line = "localedef -i de_DE -f UTF-8 '" + made + "' 2>/dev/null";
        const bool there = std::system(line.c_str()) == 0;
        ::setenv("LOCPATH", folder_.path().c_str(), 1);
        in_c_ = there && std::setlocale(LC_ALL, "comma") != nullptr;
    }
    ~CommaLocale() {
        std::setlocale(LC_ALL, "C");
        ::unsetenv("LOCPATH");
        std::locale::global(std::locale::classic());
    }
    CommaLocale(const CommaLocale&) = delete;
    CommaLocale& operator=(const CommaLocale&) = delete;

    // Does the C library write commas, too?
    bool in_c() const { return in_c_; }

  private:
    struct Numbers final : std::numpunct<char> {
        char do_decimal_point() const override { return ','; }
        char do_thousands_sep() const override { return '.'; }
        std::string do_grouping() const override { return "\3"; }
    };
    Folder folder_{"locale"};
    bool in_c_ = false;
};

}  // namespace bentline::testing
