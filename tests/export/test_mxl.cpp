// mxl: opened by unzip-like readers: python's zipfile stands in for them [MusicXML 4.0, compressed
// files].
#include <cstdio>
#include <filesystem>
#include <fstream>

#include <doctest/doctest.h>
#include <unistd.h>

#include "engine/export/mxl.h"

using namespace bentline;
namespace fs = std::filesystem;

TEST_CASE("mxl: the container names the document, and the same document gives the same bytes") {
    const std::string document = "<?xml version=\"1.0\"?>\n<score-partwise version=\"4.0\"/>\n";
    const auto packed = compressed_musicxml(document);
    REQUIRE(packed.ok());
    CHECK(*packed == *compressed_musicxml(document));
    // A local file header, then the name of the first entry at offset 30 [zip, APPNOTE 4.3.7].
    CHECK(packed->substr(0, 4) == std::string("PK\x03\x04"));
    CHECK(packed->substr(30, 8) == "mimetype");
    const fs::path path =
        fs::temp_directory_path() / ("bentline-" + std::to_string(::getpid()) + ".mxl");
    std::ofstream(path, std::ios::binary) << *packed;
    const std::string script =
        "python3 -c \"import zipfile,sys,xml.etree.ElementTree as E\n"
        "z=zipfile.ZipFile('" +
        path.string() +
        "')\n"
        "assert z.testzip() is None\n"
        "r=E.fromstring(z.read('META-INF/container.xml')).find('rootfiles/rootfile')\n"
        "assert r.get('media-type')=='application/vnd.recordare.musicxml+xml'\n"
        "sys.stdout.write(z.read(r.get('full-path')).decode())\"";
    std::FILE* pipe = ::popen(script.c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::string read;
    char buffer[4096];
    while (const std::size_t n = std::fread(buffer, 1, sizeof buffer, pipe))
        read.append(buffer, n);
    CHECK(::pclose(pipe) == 0);
    fs::remove(path);
    CHECK(read == document);
}
