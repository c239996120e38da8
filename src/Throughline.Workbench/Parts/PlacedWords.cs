using Throughline.Instruments;

namespace Throughline.Workbench.Parts;

/// <summary>A sentence with the names in it that stand in the file.</summary>
internal static class PlacedWords
{
    /// <summary>The sentence in pieces; those that are a name have its place, the others are nowhere. Together they are the sentence.</summary>
    /// <param name="places">By name; null for none.</param>
    public static IEnumerable<(string Piece, SourceSpan Place)> Of(string sentence, IReadOnlyDictionary<string, SourceSpan>? places)
    {
        int said = 0;
        for (int i = 0; i < sentence.Length;)
        {
            if (!IsOfName(sentence[i]))
            {
                i++;
                continue;
            }

            int end = i;
            while (end < sentence.Length && IsOfName(sentence[end]))
            {
                end++;
            }

            // A hyphen or a point at the end is the sentence's own.
            int last = end;
            while (last > i && sentence[last - 1] is '-' or '.')
            {
                last--;
            }

            if (places is not null && places.TryGetValue(sentence[i..last], out SourceSpan place))
            {
                if (i > said)
                {
                    yield return (sentence[said..i], default);
                }

                yield return (sentence[i..last], place);
                said = last;
            }

            i = end;
        }

        if (said < sentence.Length)
        {
            yield return (sentence[said..], default);
        }
    }

    private static bool IsOfName(char c) => char.IsLetterOrDigit(c) || c is '-' or '_' or '.';
}
