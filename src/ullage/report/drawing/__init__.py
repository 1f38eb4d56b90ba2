"""The rig as a drawing: side elevation and plan to scale, and a flow diagram. Pure: text in, SVG out."""
