// SPDX-License-Identifier: GPL-3.0-or-later
#include "seeds.h"

#include "targets.h"

namespace fuzz {

namespace {

constexpr const char* kStlWords =
    "solid\nfacet normal\nouter loop\nvertex\nendloop\nendfacet\nendsolid\nnan\n1e39\n-inf";
constexpr const char* kObjWords = "v\nf\nvn\nvt\ng\no\n\\\n-1\n/\n//\n2147483648\n1e400\nnan";
constexpr const char* kPlyWords =
    "element\nvertex\nface\ntristrips\nproperty\nlist\nuchar\nchar\nint\nuint\nshort\nfloat\ndouble"
    "\nformat ascii 1.0\n"
    "format binary_big_endian "
    "1.0\nend_header\ncomment\nvertex_index\nvertex_indices\n4294967295\n-1\n0";
constexpr const char* kOffWords =
    "OFF\nCOFF\nNOFF\nSTOFF\n4OFF\nnOFF\nBINARY\n#\n-1\n2147483648\n1e400\nnan";
constexpr const char* kGltfWords =
    "\"sparse\"\n\"bufferView\"\n\"byteOffset\"\n\"byteStride\"\n\"count\"\n\"componentType\"\n5120"
    "\n5121\n5122\n5123\n5125\n"
    "5126\n\"normalized\":true\n\"mode\":6\n\"mode\":4\n\"children\":[0]"
    "\n\"matrix\"\n\"scale\"\n\"skin\"\n"
    "\"extensionsRequired\"\n\"KHR_draco_mesh_compression\"\n\"EXT_meshopt_compression\"\n\"EXT_"
    "mesh_gpu_instancing\"\n"
    "18446744073709551615\n-1\n1e400\n\"uri\":\"data:,\"";
constexpr const char* kThreemfWords =
    "<object id=\"1\">\n<component objectid=\"1\"/>\n<item objectid=\"1\"/>\ntransform=\"1 0 0 0 1 "
    "0 0 0 1 0 0 0\"\n<triangle "
    "v1=\"0\" v2=\"1\" v3=\"2\"/>\n<vertex x=\"1\" y=\"1\" "
    "z=\"1\"/>\nunit=\"inch\"\np:path\ntype=\"support\"\n&#0;\n<!DOCTYPE a>\n"
    "4294967296\n1e400\nPK";
constexpr const char* kQuantityWords =
    "in\nft\nmm\ncm3\nlb/ft3\npcf\nkg/m3\ng/cm\noz\nfl oz\nimp fl "
    "oz\nmin\nh\ns\nkPa\npsi\n%\nF\nC\n/\n"
    "1e308\n-0\n1/0\n:\nnan\ninf\n\x1e\n\x1f";
constexpr const char* kTomlWords =
    "[[a]]\n[skin]\n\"\"\"\n'''\n= {\n= "
    "[\ntrue\nnan\ninf\n1e400\n1979-05-27\n9223372036854775807\n\"0 mm\"\n"
    "\"1 kg/m3\"\n\"100%\"\n\"1e300 s\"\n\"-5 C\"\n\\u0000\n\\uD800";
constexpr const char* kHttpWords =
    "GET \nPOST /u\nPUT /u\nHEAD /x\n HTTP/1.1\n HTTP/1.0\nContent-Length: \nTransfer-Encoding: "
    "chunked\n"
    "Expect: 100-continue\nConnection: keep-alive\n%00\n%zz\nffffffffffffffff\n0";
constexpr const char* kSiteWords =
    "/api/parts/p/options\n/api/parts/p/air?up=\n/api/tally\n/api/"
    "recent\n{\"\n[\"\n\"]}\nnull\n%22\nup\nvent\n"
    "pour-hole\nshow\ndensity\nunits\n\\u0000\n\\ud83d";

}  // namespace

const std::vector<Target>& targets() {
    static const std::vector<Target> all = {
        {"stl", fuzz_stl, stl_seeds, kStlWords, 3000},
        {"obj", fuzz_obj, obj_seeds, kObjWords, 3000},
        {"ply", fuzz_ply, ply_seeds, kPlyWords, 3000},
        {"off", fuzz_off, off_seeds, kOffWords, 3000},
        {"gltf", fuzz_gltf, gltf_seeds, kGltfWords, 3000},
        {"threemf", fuzz_threemf, threemf_seeds, kThreemfWords, 2000},
        {"guarded", fuzz_guarded, guarded_seeds, nullptr, 60},
        {"sniff", fuzz_sniff, sniff_seeds, kThreemfWords, 3000},
        {"wire", fuzz_wire, wire_seeds, nullptr, 3000},
        {"quantity", fuzz_quantity, quantity_seeds, kQuantityWords, 5000},
        {"foam_card", fuzz_foam_card, foam_card_seeds, kTomlWords, 1000},
        {"rubber_card", fuzz_rubber_card, rubber_card_seeds, kTomlWords, 1000},
        {"mend", fuzz_mend, mend_seeds, nullptr, 30},
        {"arrange", fuzz_arrange, arrange_seeds, nullptr, 300},
        {"log", fuzz_log, log_seeds, nullptr, 100},
        {"job", fuzz_job, job_seeds, kTomlWords, 1000},
        {"request", fuzz_request, request_seeds, kSiteWords, 3000},
        {"http", fuzz_http, http_seeds, kHttpWords, 500},
        {"site", fuzz_site, site_seeds, kSiteWords, 300},
    };
    return all;
}

std::vector<std::string> words_of(const Target& target) {
    std::vector<std::string> words;
    const std::string_view all = target.words == nullptr ? "" : target.words;
    for (std::size_t at = 0; at < all.size();) {
        const std::size_t end = std::min(all.find('\n', at), all.size());
        words.emplace_back(all.substr(at, end - at));
        at = end + 1;
    }
    return words;
}

}  // namespace fuzz
