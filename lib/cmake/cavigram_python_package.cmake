# The Debian package of the Python module: for Debian's own Python, of the minor version that it was built for.
install(FILES "${package_folder}/copyright" "${package_folder}/changelog.gz" DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/python3-cavigram COMPONENT python)

list(APPEND CPACK_COMPONENTS_ALL python)
set(CPACK_DEBIAN_PYTHON_PACKAGE_NAME python3-cavigram)
set(CPACK_DEBIAN_PYTHON_PACKAGE_SECTION python)
set(CPACK_DEBIAN_PYTHON_PACKAGE_DEPENDS "python3 (>= 3.11~), python3 (<< 3.12), python3-numpy")
set(CPACK_DEBIAN_PYTHON_PACKAGE_SUGGESTS "cavigram, python3-matplotlib")
set(CPACK_COMPONENT_PYTHON_DESCRIPTION
"The Python module: from the mesh of a part, as a file or as numpy arrays,
whether it is sound, what the part weighs, the grams of both components,
which way up to pour, where vents go, how to build and strap the mold.")

# Bytecode is made as it is installed, and goes with it.
file(WRITE "${package_folder}/python/postinst" "#!/bin/sh
set -e
if [ \"$1\" = configure ]; then
  py3compile -p python3-cavigram
fi
")
file(WRITE "${package_folder}/python/prerm" "#!/bin/sh
set -e
py3clean -p python3-cavigram
")
file(CHMOD "${package_folder}/python/postinst" "${package_folder}/python/prerm"
     PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
set(CPACK_DEBIAN_PYTHON_PACKAGE_CONTROL_EXTRA "${package_folder}/python/postinst;${package_folder}/python/prerm")
