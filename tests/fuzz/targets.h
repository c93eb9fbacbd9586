// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fuzz.h"

namespace fuzz {

// One for each door through which bytes of others come in. All return 0.

int fuzz_stl(Bytes bytes);
int fuzz_obj(Bytes bytes);
int fuzz_ply(Bytes bytes);
int fuzz_off(Bytes bytes);
int fuzz_gltf(Bytes bytes);
int fuzz_threemf(Bytes bytes);
int fuzz_guarded(Bytes bytes);  ///< read_mesh: all formats, through the guarded child.
int fuzz_sniff(Bytes bytes);    ///< What kind of file the bytes are.
int fuzz_wire(Bytes bytes);     ///< What the guarded child hands back.
int fuzz_quantity(Bytes bytes);
int fuzz_foam_card(Bytes bytes);
int fuzz_rubber_card(Bytes bytes);
int fuzz_mend(Bytes bytes);     ///< A small mesh, coordinates and corners as bytes.
int fuzz_arrange(Bytes bytes);  ///< Solids that cross.
int fuzz_log(Bytes bytes);      ///< The casting log's file, and what is made of it.
int fuzz_job(Bytes bytes);      ///< Job files, and all options through them.
int fuzz_request(Bytes bytes);  ///< The pieces that take a request apart.
int fuzz_http(Bytes bytes);     ///< The server itself, over a connection.
int fuzz_site(Bytes bytes);     ///< What stands behind the addresses.

}  // namespace fuzz
