<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- The step that set a record aside is told by the shape and the shade of the mark. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>yield_records</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Yield records</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:Name>kept</se:Name>
          <se:Description><se:Title>kept</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>kept</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>circle</se:WellKnownName>
                <se:Fill>
                  <se:SvgParameter name="fill">#a0a0a0</se:SvgParameter>
                </se:Fill>
              </se:Mark>
              <se:Size>2.4</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
        <se:Rule>
          <se:Name>no_value</se:Name>
          <se:Description><se:Title>no value there</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>no_value</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>cross</se:WellKnownName>
                <se:Stroke>
                  <se:SvgParameter name="stroke">#8a8a8a</se:SvgParameter>
                  <se:SvgParameter name="stroke-width">0.8</se:SvgParameter>
                </se:Stroke>
              </se:Mark>
              <se:Size>4</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
        <se:Rule>
          <se:Name>pass_end</se:Name>
          <se:Description><se:Title>pass ends</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>pass_end</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>triangle</se:WellKnownName>
                <se:Fill>
                  <se:SvgParameter name="fill">#ffffff</se:SvgParameter>
                </se:Fill>
                <se:Stroke>
                  <se:SvgParameter name="stroke">#202020</se:SvgParameter>
                  <se:SvgParameter name="stroke-width">0.8</se:SvgParameter>
                </se:Stroke>
              </se:Mark>
              <se:Size>5</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
        <se:Rule>
          <se:Name>narrow_cut</se:Name>
          <se:Description><se:Title>cut too narrow</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>narrow_cut</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>square</se:WellKnownName>
                <se:Fill>
                  <se:SvgParameter name="fill">#ffffff</se:SvgParameter>
                </se:Fill>
                <se:Stroke>
                  <se:SvgParameter name="stroke">#202020</se:SvgParameter>
                  <se:SvgParameter name="stroke-width">0.8</se:SvgParameter>
                </se:Stroke>
              </se:Mark>
              <se:Size>4.5</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
        <se:Rule>
          <se:Name>speed</se:Name>
          <se:Description><se:Title>speed</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>speed</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>circle</se:WellKnownName>
                <se:Fill>
                  <se:SvgParameter name="fill">#ffffff</se:SvgParameter>
                </se:Fill>
                <se:Stroke>
                  <se:SvgParameter name="stroke">#202020</se:SvgParameter>
                  <se:SvgParameter name="stroke-width">0.9</se:SvgParameter>
                </se:Stroke>
              </se:Mark>
              <se:Size>4.5</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
        <se:Rule>
          <se:Name>impossible_yield</se:Name>
          <se:Description><se:Title>impossible yield</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>impossible_yield</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>x</se:WellKnownName>
                <se:Stroke>
                  <se:SvgParameter name="stroke">#9c2c06</se:SvgParameter>
                  <se:SvgParameter name="stroke-width">1.4</se:SvgParameter>
                </se:Stroke>
              </se:Mark>
              <se:Size>5.5</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
        <se:Rule>
          <se:Name>field_edge</se:Name>
          <se:Description><se:Title>edge of the field</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>field_edge</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>circle</se:WellKnownName>
                <se:Fill>
                  <se:SvgParameter name="fill">#51606f</se:SvgParameter>
                </se:Fill>
                <se:Stroke>
                  <se:SvgParameter name="stroke">#20303f</se:SvgParameter>
                  <se:SvgParameter name="stroke-width">0.7</se:SvgParameter>
                </se:Stroke>
              </se:Mark>
              <se:Size>4.2</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
        <se:Rule>
          <se:Name>same_spot</se:Name>
          <se:Description><se:Title>cut again</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>same_spot</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>square</se:WellKnownName>
                <se:Fill>
                  <se:SvgParameter name="fill">#202020</se:SvgParameter>
                </se:Fill>
                <se:Stroke>
                  <se:SvgParameter name="stroke">#202020</se:SvgParameter>
                  <se:SvgParameter name="stroke-width">0.6</se:SvgParameter>
                </se:Stroke>
              </se:Mark>
              <se:Size>4.5</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
        <se:Rule>
          <se:Name>odd_neighbours</se:Name>
          <se:Description><se:Title>unlike its neighbours</se:Title></se:Description>
          <ogc:Filter>
            <ogc:PropertyIsEqualTo>
              <ogc:PropertyName>step</ogc:PropertyName>
              <ogc:Literal>odd_neighbours</ogc:Literal>
            </ogc:PropertyIsEqualTo>
          </ogc:Filter>
          <se:PointSymbolizer>
            <se:Graphic>
              <se:Mark>
                <se:WellKnownName>triangle</se:WellKnownName>
                <se:Fill>
                  <se:SvgParameter name="fill">#b2401a</se:SvgParameter>
                </se:Fill>
                <se:Stroke>
                  <se:SvgParameter name="stroke">#101010</se:SvgParameter>
                  <se:SvgParameter name="stroke-width">0.8</se:SvgParameter>
                </se:Stroke>
              </se:Mark>
              <se:Size>6</se:Size>
            </se:Graphic>
          </se:PointSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
